import { describe, expect, it } from 'vitest';
import { splitDelivery } from '../../../../server/core/delivery/split-delivery.ts';
import { expectRefusal } from '../../../support/refusal.ts';

// The rule: the variants of one file agree in the article (or grade) of every slot in which it varies.

const ARTICLES: Readonly<Record<string, string>> = {
  W1: 'WOOL',
  W2: 'WOOL',
  L1: 'LEATHER',
  O1: 'OAK',
  A1: 'ASH',
  A2: 'ash',
};
const articleOf = (finish: string) => ARTICLES[finish] ?? null;
const variants = (...rows: (readonly [string, string])[]) =>
  rows.map(([seat, legs], at) => ({ code: `V${at}`, choices: { seat, legs } }));
const split = (rows: ReturnType<typeof variants>, slot?: string) =>
  splitDelivery(rows, { by: 'article', slot }, articleOf);

describe('splitDelivery', () => {
  const both = variants(['W1', 'O1'], ['W2', 'O1'], ['L1', 'O1'], ['L1', 'A1'], ['P', 'O1']);

  it('divides by every slot that varies, and makes only the pairs that occur', () => {
    expect(split(both)).toEqual([
      { key: 'article-WOOL--OAK', groups: { seat: 'WOOL', legs: 'OAK' }, variants: ['V0', 'V1'] },
      { key: 'article-LEATHER--OAK', groups: { seat: 'LEATHER', legs: 'OAK' }, variants: ['V2'] },
      { key: 'article-LEATHER--ASH', groups: { seat: 'LEATHER', legs: 'ASH' }, variants: ['V3'] },
      { key: 'article-none--OAK', groups: { seat: null, legs: 'OAK' }, variants: ['V4'] },
    ]);
  });

  it('divides by one slot alone when asked', () => {
    expect(split(both, 'legs').map(({ key, variants: { length } }) => [key, length])).toEqual([
      ['article-legs-OAK', 4],
      ['article-legs-ASH', 1],
    ]);
  });

  it('leaves a slot that does not vary out of the names', () => {
    expect(split(variants(['W1', 'O1'], ['L1', 'O1'])).map(({ key }) => key)).toEqual([
      'article-WOOL',
      'article-LEATHER',
    ]);
  });

  it('names files by letters that every URL and disk carries, no two alike ignoring case', () => {
    const grades = ['Größe Ä', 'größe a', '../..', '€', '€€', 'CON', '-', null];
    const rows = grades.map((_, at) => ({ code: `V${at}`, choices: { seat: String(at) } }));
    const keys = splitDelivery(rows, { by: 'grade' }, (finish) => grades[Number(finish)]!).map(({ key }) => key);
    for (const key of keys) expect(key).toMatch(/^[A-Za-z0-9][A-Za-z0-9._-]*$/);
    expect(new Set(keys.map((key) => key.toLowerCase())).size).toBe(grades.length);
  });

  it('refuses a split into one file, an unknown slot, and too many files', async () => {
    await expectRefusal(() => split(variants(['W1', 'O1'], ['W2', 'O1'])), 'nothing-to-split');
    await expectRefusal(
      () => split(both, 'legs').concat(split(variants(['W1', 'O1'], ['L1', 'O1']), 'legs')),
      'nothing-to-split',
    );
    await expectRefusal(() => split(both, 'back'), 'unknown-slot-key');
    const many = Array.from({ length: 501 }, (_, at) => ({ code: `V${at}`, choices: { seat: `F${at}` } }));
    await expectRefusal(() => splitDelivery(many, { by: 'grade' }, (finish) => finish), 'too-many-parts');
  });
});
