import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { PROBLEMS } from '../../../server/core/problems.ts';
import { findRefusalSentences } from '../../support/find-refusal-sentences.ts';
import { listRetiredWords } from '../../support/retired-words.ts';

const ROOT = fileURLToPath(new URL('../../../', import.meta.url));

it('gives every refusal a title in plain English', () => {
  const wrong = Object.entries(PROBLEMS).flatMap(([code, { title }]) =>
    listRetiredWords(title).map((word) => `${code}: ${word} in “${title}”`),
  );
  expect(wrong).toEqual([]);
});

it('finds no sentence of a refusal at a call site', () => {
  const paths = ['server', 'db', 'renderer'].flatMap((folder) =>
    readdirSync(`${ROOT}${folder}`, { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.ts') && !name.startsWith('core/texts/'))
      .map((name) => `${folder}/${name}`),
  );
  expect(paths.length).toBeGreaterThan(200);
  const wrong = paths.flatMap((path) =>
    findRefusalSentences(readFileSync(`${ROOT}${path}`, 'utf8')).map((sentence) => `${path}:${sentence}`),
  );
  expect(wrong).toEqual([]);
});

it.each([
  ["new Problem('x', { detail: 'The file is damaged' })"],
  [`new Problem('x', { detail: ok ? TEXT : \`The file \${name} is damaged.\` })`],
  ["refuse('/name', 'The name is too long.', 64, name)"],
  [`new StudioProblem('x', \`No part of \${name} can be read.\`)`],
])('finds a sentence in %s', (source) => {
  expect(findRefusalSentences(source)).toHaveLength(1);
});

it('does not mistake texts of the catalogue or values for sentences', () => {
  const source =
    "new Problem('x', { detail: TEXTS['a-b'].far(names.join(' ')), expected: 'a list of 3', where: '/x' })";
  expect(findRefusalSentences(source)).toEqual([]);
});
