import { Ajv } from 'ajv';
import { expect, it } from 'vitest';
import { ScheduleBody } from '../../../server/http/contracts/schedule.ts';
import { compileBodyCheck } from '../../../server/http/validate-bodies.ts';

const check = compileBodyCheck(new Ajv({ allErrors: false, allowUnionTypes: true }), ScheduleBody);

const makeRows = (count: number): Record<string, unknown>[] =>
  Array.from({ length: count }, (_, i) => ({ code: `V${i}`, name: `N${i}`, choices: { seat: 'OAK' } }));

async function findFault(body: unknown) {
  const answer = check(body);
  if (answer === false) return check.errors![0];
  return Promise.resolve(answer).then(
    () => null,
    ({ validation }) => validation[0],
  );
}

it('finds the same fault in a long list as in a short one', async () => {
  for (const count of [2, 1000]) {
    const variants = makeRows(count);
    expect(await findFault({ default: 'V0', variants })).toBeNull();
    expect(await findFault({ variants })).toMatchObject({ keyword: 'required', instancePath: '' });
    expect(await findFault({ default: 'V0', variants, more: 1 })).toMatchObject({ keyword: 'additionalProperties' });
    const place = `/variants/${count - 1}`;
    variants[count - 1] = { code: 'V', name: 'N', choices: { seat: 1 } };
    expect(await findFault({ default: 'V0', variants })).toMatchObject({
      keyword: 'type',
      instancePath: `${place}/choices/seat`,
    });
    variants[count - 1] = { code: 'V', name: 'N', choices: {}, gitn: '' };
    expect(await findFault({ default: 'V0', variants })).toMatchObject({
      keyword: 'additionalProperties',
      instancePath: place,
      params: { additionalProperty: 'gitn' },
    });
  }
});

it('refuses too many rows, and checks long lists in turns', async () => {
  expect(await findFault({ default: 'V0', variants: Array(100_001).fill(null) })).toMatchObject({
    keyword: 'maxItems',
  });
  let turns = 0;
  let running = true;
  const count = () => {
    turns++;
    if (running) setImmediate(count);
  };
  setImmediate(count);
  await check({ default: 'V0', variants: makeRows(10_000) });
  running = false;
  expect(turns).toBeGreaterThanOrEqual(15);
});
