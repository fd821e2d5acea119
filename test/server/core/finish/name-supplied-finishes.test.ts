import { describe, expect, it } from 'vitest';
import { CODE_PATTERN } from '../../../../server/core/codes.ts';
import { nameSuppliedFinishes } from '../../../../server/core/finish/name-supplied-finishes.ts';
import { byFoldedCode, makeFinish } from '../../../support/make-finish.ts';

const material = (index: number, name: string, sha256 = String(index)) => ({ index, name, sha256 });
const codes = (...args: Parameters<typeof nameSuppliedFinishes>) =>
  nameSuppliedFinishes(...args).map(({ code }) => code);

// The rules are the contract's: codes by CODE_PATTERN, unique ignoring case, some reserved; names at most 120 characters.
describe('finishes named after materials', () => {
  it('makes codes of names', () => {
    const names = ['Oak, oiled (2024)', 'Crème brûlée', '椅子', '', '-- _x', 'import', 'a'.repeat(80)];
    const made = codes(
      names.map((name, index) => material(index, name)),
      new Map(),
    );
    expect(made).toEqual([
      'Oak-oiled-2024',
      'Creme-brulee',
      'material-2',
      'material-3',
      'x',
      'import-2',
      'a'.repeat(64),
    ]);
    for (const code of made) expect(code).toMatch(new RegExp(CODE_PATTERN));
  });

  it('keeps names as they are, within what a name may be', () => {
    const made = nameSuppliedFinishes(
      [material(0, ' Ö\tk '), material(1, ''), material(2, 'n'.repeat(200))],
      new Map(),
    );
    expect(made.map(({ name }) => name)).toEqual(['Ö k', 'material 1', 'n'.repeat(120)]);
  });

  it('numbers what is taken, ignoring case, and leaves room for the number', () => {
    const long = 'b'.repeat(64);
    expect(codes([material(0, 'Oak'), material(1, 'OAK'), material(2, long), material(3, long)], new Map())).toEqual([
      'Oak',
      'OAK-2',
      long,
      `${'b'.repeat(56)}-2`,
    ]);
  });

  it('uses a finish again that has the very material, under its own spelling', () => {
    const finishes = byFoldedCode([
      makeFinish('OAK', { supplied: { file: 'other' } }),
      makeFinish('oak-2', { supplied: { file: 'same' } }),
      makeFinish('ash'),
    ]);
    expect(
      nameSuppliedFinishes(
        [material(0, 'Oak', 'same'), material(1, 'Ash', 'ash'), material(2, 'Oak', 'same')],
        finishes,
      ),
    ).toEqual([
      { code: 'oak-2', name: 'Oak', known: true },
      { code: 'Ash-2', name: 'Ash', known: false },
      { code: 'oak-2', name: 'Oak', known: true },
    ]);
  });
});
