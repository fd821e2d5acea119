import { expect, it } from 'vitest';
import {
  computeCheckDigit,
  FILE_NAME_BYTES,
  fillNameTemplate,
  listCollisions,
  nameByGs1,
  readGtin,
  readNameTemplate,
  toFileName,
  toFilePart,
} from '../../../../server/core/picture/file-name.ts';
import { VIEWS } from '../../../../server/core/picture/picture.ts';
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

// Worked examples of GS1 Hong Kong (629104150021 → 3), GS1 India (890400021003 → 7) and GS1 Sweden (730001100001 → 7),
// from their pages about the check digit.
it.each([
  ['629104150021', 3],
  ['890400021003', 7],
  ['730001100001', 7],
])('computes the check digit of %s like GS1', (digits, check) => {
  expect(computeCheckDigit(digits)).toBe(check);
  expect(readGtin(digits + check, '/gtin')).toBe(`0${digits}${check}`);
});

it('stores every length as 14 digits with the same check digit, since leading zeros do not change it', () => {
  const [eight, twelve] = ['9638507', '61414100003'].map((digits) => digits + computeCheckDigit(digits));
  expect(readGtin(eight!, '')).toBe(`000000${eight}`);
  expect(readGtin(twelve!, '')).toBe(`00${twelve}`);
  expect(readGtin(readGtin(eight!, ''), '')).toBe(`000000${eight}`);
  expect(readGtin('6 291041-500213', '')).toBe('06291041500213');
});

it('finds any single wrong digit', async () => {
  const right = '6291041500213';
  for (let at = 0; at < right.length; at++) {
    for (const digit of '0123456789'.replace(right[at]!, '')) {
      const wrong = right.slice(0, at) + digit + right.slice(at + 1);
      await expectRefusal(() => readGtin(wrong, '/gtin'), 'invalid-gtin');
    }
  }
});

it('states the right check digit, and refuses text that is no GTIN', async () => {
  const problem = await expectRefusal(() => readGtin('6291041500214', '/gtin'), 'invalid-gtin');
  expect(problem.more).toMatchObject({ expected: '6291041500213', received: '6291041500214', where: '/gtin' });
  for (const text of ['', '123', '629104150021', '62910415002133', '62910415002l3', '６２９１０４１５００２１３']) {
    await expectRefusal(() => readGtin(text, '/gtin'), 'invalid-gtin');
  }
});

const GTIN = '06291041500213';

// The pattern of the GS1 Product Image Specification Standard, release 4.4 (2024), as suppliers' guides quote it: 14
// digits, underscore, kind A–E, facing 1 front, 2 left, 3 top, 7 back, 8 right, 9 bottom, angle C, L, R or N, state 0
// out of or 1 in packaging.
const PATTERN = /^\d{14}_[A-E][0123789][CLRN][01]$/;

it('names every view by the pattern, each differently', () => {
  const names = VIEWS.map((view) => nameByGs1(GTIN, view, 2048)!);
  for (const name of names) expect(name).toMatch(PATTERN);
  expect(new Set(names).size).toBe(VIEWS.length);
  expect(names.slice(0, 2)).toEqual([`${GTIN}_A1C0`, `${GTIN}_A1R0`]);
  expect(nameByGs1(GTIN, 'back', 2048)).toBe(`${GTIN}_A7C0`);
});

it('distinguishes high-resolution pictures from those for the web', () => {
  expect(nameByGs1(GTIN, 'front', 2400)).toBe(`${GTIN}_A1C0`);
  expect(nameByGs1(GTIN, 'front', 2401)).toBe(`${GTIN}_C1C0`);
});

it('has no letters for a close-up', () => {
  expect(nameByGs1(GTIN, 'slot:seat', 2048)).toBeNull();
});
