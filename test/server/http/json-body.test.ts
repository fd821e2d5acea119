import { expect, it } from 'vitest';
import { finish } from '../../../server/core/slices.ts';
import { readJson, refuseExcess } from '../../../server/http/json-body.ts';
import { expectRefusal } from '../../support/refusal.ts';

const bytes = (text: string) => Buffer.from(text);

it.each(['{}', '[1,2,[3]]', '"[[[["', '{"a":"\\"[[[[{{{{"}', '{"ä[[[":"\\\\","b":[{}]}', '"unfinished \\'])(
  'reads %s as three levels at most',
  (text) => {
    expect(() => refuseExcess(bytes(text), 3)).not.toThrow();
  },
);

it('refuses more levels, at the byte where they begin, and stops there', async () => {
  const problem = await expectRefusal(() => refuseExcess(bytes('["[",[[['), 3), 'json-too-complex');
  expect(problem.more).toMatchObject({ expected: 3, where: 'byte 7' });
  let read = 0;
  const long = new Proxy(Buffer.alloc(1000, '['), {
    get: (target, key) => {
      if (typeof key === 'string' && /^\d+$/.test(key)) read++;
      return Reflect.get(target, key);
    },
  });
  await expectRefusal(() => refuseExcess(long), 'json-too-complex');
  expect(read).toBeLessThan(40);
});

it('levels that close again do not count, but their number does', async () => {
  const flat = bytes(`[${'[],'.repeat(500)}[]]`);
  expect(() => refuseExcess(flat, 3)).not.toThrow();
  expect((await expectRefusal(() => refuseExcess(flat, 3, 1000), 'json-too-complex')).more.expected).toBe(1000);
});

const parse = (text: string) => JSON.parse(text) as unknown;

it('reads long lists part by part, and as a whole parser would', () => {
  const rows = Array.from({ length: 300 }, (_, i) => ({
    code: `V${i}`,
    name: `],[{"ä${i}\\`,
    choices: { a: [i, [i]] },
  }));
  const body = {
    default: 'V0',
    variants: rows,
    none: [],
    few: [1],
    'odd "key': rows.map(({ name }) => name),
    n: -1.5e3,
  };
  for (const text of [JSON.stringify(body), ` \n${JSON.stringify(body, null, 3)}\n`]) {
    for (const atOnce of [1, 50, 1000, 1_000_000]) {
      const parts: string[] = [];
      const note = (part: string) => {
        parts.push(part);
        return parse(part);
      };
      const read = finish(readJson(bytes(text), note, atOnce));
      expect(read).toEqual(body);
      if (atOnce < 1000) expect(Math.max(...parts.map(({ length }) => length))).toBeLessThan(atOnce + 700);
    }
  }
});

it.each([
  '{"a":[1,2,,3]}',
  '{"a":[1,2,3,]}',
  '{"a":[,1,2]}',
  '{"a":[1,2,3}',
  '{"a":[1,2,{]}]}',
  '{"a":[1,2,3]]',
  '{[1,2,3]}',
  '{"a" [1,2,3]}',
  '{"a":[1,2,3],}',
  '{"a":[1,"2,3]}',
  '{"a":[1,2,3]} x',
])('does not read %s in parts either', (text) => {
  for (const atOnce of [1, 2, 3]) expect(() => finish(readJson(bytes(text), parse, atOnce))).toThrow();
});

it('refuses one entry with too many values, since it would be parsed in one go', async () => {
  const entry = `[${'[],'.repeat(150_000)}[]]`;
  await expectRefusal(() => finish(readJson(bytes(`{"a":[1,${entry}]}`), parse)), 'json-too-complex');
  await expectRefusal(() => finish(readJson(bytes(`{"a":{"b":${entry}}}`), parse)), 'json-too-complex');
  await expectRefusal(() => finish(readJson(bytes(entry), parse)), 'json-too-complex');
});

it('pauses while it counts and parses eight megabytes', () => {
  const text = bytes(
    JSON.stringify({ variants: Array.from({ length: 80_000 }, (_, i) => ({ name: 'N'.repeat(90), i })) }),
  );
  const work = readJson(text, parse);
  let pauses = 0;
  while (!work.next().done) pauses++;
  expect(pauses).toBeGreaterThan(60);
});
