import { expect, it } from 'vitest';
import { refuseExcess } from '../../../server/http/json-body.ts';
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
