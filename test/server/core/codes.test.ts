import { describe, expect, it } from 'vitest';
import { checkCode, checkName, toKey } from '../../../server/core/codes.ts';
import { expectRefusal } from '../../support/refusal.ts';

// From the contract: codes are `[A-Za-z0-9][A-Za-z0-9._-]{0,63}`; `import`, `indistinguishable`, `current` are
// reserved.
describe('codes', () => {
  it.each(['A', '7', 'Oak.2_b-C', 'x'.repeat(64), 'imports', 'current-1'])('%s is a code', (code) => {
    expect(checkCode(code, 'finish')).toBe(code);
  });

  it.each(['', '.a', '-a', '_a', 'a b', 'a/b', 'ä', 'a\n', 'x'.repeat(65), 'a%20', '\u0000'])(
    '%j is not a code',
    async (code) => {
      await expectRefusal(() => checkCode(code, 'finish'), 'invalid-code');
    },
  );

  it.each(['import', 'indistinguishable', 'current', 'Import', 'CURRENT'])('%s is reserved', async (code) => {
    await expectRefusal(() => checkCode(code, 'finish'), 'reserved-code');
  });
});

// From the contract: Unicode NFC, 1–120 characters.
describe('names', () => {
  it('are stored in NFC', () => {
    expect(checkName('Cafe\u0301 brûle\u0301', '/name')).toBe('Caf\u00e9 brûl\u00e9');
  });

  it('are measured after normalisation', () => {
    expect(checkName('e\u0301'.repeat(120), '/name')).toBe('\u00e9'.repeat(120));
  });

  it.each(['x'.repeat(120), '漆'.repeat(120), 'a'])('of up to 120 characters are accepted', (name) => {
    expect(checkName(name, '/name')).toBe(name);
  });

  it('of 121 characters are refused, with the number', async () => {
    const problem = await expectRefusal(() => checkName('x'.repeat(121), '/name'), 'name-too-long');
    expect(problem.message).toContain('121');
    expect(problem.more.where).toBe('/name');
  });

  it.each(['', '   ', 'a\u0000b', 'a\nb', '\u007f'])('%j is not a name', async (name) => {
    await expectRefusal(() => checkName(name, '/name'), 'invalid-name');
  });
});

describe('keys', () => {
  it.each([
    ['Seat Shell', 'seat-shell'],
    ['  Legs__01 ', 'legs-01'],
    ['Crème', 'creme'],
    ['漆', ''],
  ])('%j becomes %j', (text, key) => {
    expect(toKey(text)).toBe(key);
  });
});
