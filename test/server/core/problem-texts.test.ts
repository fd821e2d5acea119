import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { PROBLEMS } from '../../../server/core/problems.ts';
import { listTexts } from '../../support/list-texts.ts';
import { listRetiredWords } from '../../support/retired-words.ts';

const FOLDER = fileURLToPath(new URL('../../../server/core/texts/problems/', import.meta.url));

it('says why a call is refused in plain English, without a retired word', () => {
  const texts = readdirSync(FOLDER).flatMap((name) => listTexts(`${FOLDER}${name}`));
  expect(texts.length).toBeGreaterThan(50);
  const wrong = texts.flatMap(({ text, where }) =>
    listRetiredWords(text).map((word) => `${where}: ${word} in “${text}”`),
  );
  expect(wrong).toEqual([]);
});

it('titles every refusal in plain English', () => {
  const wrong = Object.entries(PROBLEMS).flatMap(([code, { title }]) =>
    listRetiredWords(title).map((word) => `${code}: ${word} in “${title}”`),
  );
  expect(wrong).toEqual([]);
});
