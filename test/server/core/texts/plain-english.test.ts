import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { listTexts } from '../../../support/list-texts.ts';
import { listRetiredWords } from '../../../support/retired-words.ts';

// Every text of the core is read from its source: refusals, findings, notes, reasons and changes.

const FOLDER = fileURLToPath(new URL('../../../../server/core/texts/', import.meta.url));
const FILES = readdirSync(FOLDER, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));

it.each(FILES)('%s is in plain English, without retired words', (name) => {
  const texts = listTexts(`${FOLDER}${name}`);
  expect(texts.length).toBeGreaterThan(0);
  const wrong = texts.flatMap(({ text, where }) =>
    listRetiredWords(text).map((word) => `${where}: ${word} in “${text}”`),
  );
  expect(wrong).toEqual([]);
});
