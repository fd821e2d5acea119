import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { listFirstChanges } from '../../../../server/core/texts/answer-texts.ts';
import { ROOT } from '../../../../server/root.ts';
import { listTexts } from '../../../support/list-texts.ts';
import { listRetiredWords } from '../../../support/retired-words.ts';

const CATALOGUE = join(ROOT, 'server/core/texts/answer-texts.ts');
const ACTIONS = join(ROOT, 'server/actions');

it('has answers in plain English, without retired words', () => {
  const texts = listTexts(CATALOGUE);
  expect(texts.length).toBeGreaterThan(10);
  const wrong = texts.flatMap(({ text, where }) =>
    listRetiredWords(text).map((word) => `${where}: ${word} in “${text}”`),
  );
  expect(wrong).toEqual([]);
});

it('finds no sentence of an answer in an action', () => {
  const texts = readdirSync(ACTIONS).flatMap((name) => listTexts(join(ACTIONS, name)));
  // errors that no caller sees begin with a small letter
  const sentences = texts.filter(({ text }) => /^\p{Lu}.* .* /u.test(text));
  expect(sentences).toEqual([]);
});

it('names the first changes and counts the others', () => {
  const changes = ['A changed.', 'B changed.', 'C changed.', 'D changed.'];
  expect(listFirstChanges(changes.slice(0, 2), 3)).toBe('A changed. B changed.');
  expect(listFirstChanges(changes, 3)).toBe('A changed. B changed. C changed. There is 1 more change.');
  expect(listFirstChanges(changes, 2)).toBe('A changed. B changed. There are 2 more changes.');
});
