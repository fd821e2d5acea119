import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { ROOT } from '../../../server/root.ts';
import { listTexts } from '../../support/list-texts.ts';
import { listRetiredWords } from '../../support/retired-words.ts';

const COMMANDS = readdirSync(join(ROOT, 'server', 'commands')).map((name) => `server/commands/${name}`);
// the settings have their messages beside their limits, and set-up runs before there is anything to import
const FILES = [...COMMANDS, 'server/command-line.ts', 'server/config.ts', 'server/set-up.mjs'];

it('says everything in plain English, without a retired word', () => {
  const texts = FILES.flatMap((path) => listTexts(join(ROOT, path)));
  expect(texts.length).toBeGreaterThan(100);
  const wrong = texts.flatMap(({ text, where }) =>
    listRetiredWords(text).map((word) => `${where}: ${word} in “${text}”`),
  );
  expect(wrong).toEqual([]);
});

it('has its sentences in texts.ts alone', () => {
  const others = FILES.filter((path) => /^server\/(commands|command-line)/.test(path) && !path.endsWith('texts.ts'));
  const sentences = others
    .flatMap((path) => listTexts(join(ROOT, path)))
    .filter(({ text }) => /\p{L} .*\p{L} .*\p{L}/u.test(text));
  expect(sentences).toEqual([]);
});
