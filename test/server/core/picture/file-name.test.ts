import { expect, it } from 'vitest';
import {
  FILE_NAME_BYTES,
  fillNameTemplate,
  listCollisions,
  readNameTemplate,
  toFileName,
  toFilePart,
} from '../../../../server/core/picture/file-name.ts';
import { expectRefusal } from '../../../support/refusal.ts';

it('folds letters to ASCII, in composed and decomposed form', () => {
  expect(toFilePart('Hocker, groß № 2')).toBe('Hocker-gross-No-2');
  expect(toFilePart('Bouclé')).toBe('Boucle');
  expect(toFilePart('Boucle\u0301')).toBe('Boucle');
  expect(toFilePart('Łódź Ærø ﬁne')).toBe('Lodz-AEro-fine');
  expect(toFilePart('a/b\\c:d*e?f"g<h>i|j')).toBe('a-b-c-d-e-f-g-h-i-j');
  expect(toFilePart('a\u0000\n\u202eb')).toBe('a-b');
});

it('never hides a file, leaves its folder, or looks like an option', () => {
  expect(toFileName('.hidden', 'png')).toBe('hidden.png');
  expect(toFileName('../../etc/passwd', 'png')).toBe('etc-passwd.png');
  expect(toFileName('-rf', 'png')).toBe('rf.png');
  expect(toFileName('name. .', 'png')).toBe('name.png');
});

// Naming Files, Paths, and Namespaces (learn.microsoft.com): these are reserved with any ending; NUL.tar.gz is NUL.
it.each(['CON', 'prn', 'Aux', 'nul', 'COM1', 'lpt9', 'COM¹', 'nul.tar'])('renames %s, a device on Windows', (name) => {
  expect(toFileName(name, 'png')).toMatch(/^_/);
});

it('accepts names that only start like a device name', () => {
  expect(toFileName('console', 'png')).toBe('console.png');
  expect(toFileName('com10', 'png')).toBe('com10.png');
});

it('accepts as many bytes as allowed, including the ending, and no more', async () => {
  const longest = 'x'.repeat(FILE_NAME_BYTES - 4);
  expect(Buffer.byteLength(toFileName(longest, 'png'))).toBe(FILE_NAME_BYTES);
  await expectRefusal(() => toFileName(`${longest}x`, 'png'), 'file-name-too-long');
});

it('refuses text that leaves an empty name', async () => {
  for (const text of ['', '...', '椅子', '_-_']) await expectRefusal(() => toFileName(text, 'png'), 'file-name-empty');
});

it('finds names that differ only in case, each with the first of them', () => {
  const names = ['A.png', 'b.png', 'a.PNG', 'c.png', 'a.png'];
  expect(listCollisions(names, (name) => name)).toEqual([
    { name: 'A.png', items: ['A.png', 'a.PNG'] },
    { name: 'A.png', items: ['A.png', 'a.png'] },
  ]);
});

const read = (template: string) => readNameTemplate(template, '/names');

it('reads fields and the text between them', () => {
  expect(read('pic {product}_{view}')).toEqual(['pic ', { field: 'product' }, '_', { field: 'view' }]);
});

it.each([
  ['{product', 'file-name-template'],
  ['product}', 'file-name-template'],
  ['{{product}}', 'file-name-template'],
  ['plain', 'file-name-template'],
  ['', 'file-name-template'],
  ['{product}/{view}', 'file-name-template'],
  ['{product}\\{view}', 'file-name-template'],
  [`{product}${'x'.repeat(200)}`, 'file-name-template'],
  ['{}', 'unknown-name-field'],
  ['{ product }', 'unknown-name-field'],
  ['{Product}', 'unknown-name-field'],
  ['{date}', 'unknown-name-field'],
  ['{toString}', 'unknown-name-field'],
] as const)('refuses %s as %s', async (template, code) => {
  const problem = await expectRefusal(() => read(template), code);
  expect(problem.more.where).toBe('/names');
});

it('explains why there is no date field', async () => {
  expect((await expectRefusal(() => read('{date}'), 'unknown-name-field')).message).toContain('made again');
});

it('fills in values, and refuses to leave a field empty', async () => {
  const parts = read('{product}_{gtin}');
  expect(fillNameTemplate(parts, { product: 'P', gtin: '1' }, 'variant A')).toBe('P_1');
  const problem = await expectRefusal(
    () => fillNameTemplate(parts, { product: 'P' }, 'variant A'),
    'name-field-missing',
  );
  expect(problem.message).toContain('variant A');
});
