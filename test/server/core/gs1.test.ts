import { expect, it } from 'vitest';
import { computeCheckDigit, nameByGs1, readGtin } from '../../../server/core/gs1.ts';
import { VIEWS } from '../../../server/core/picture/picture.ts';
import { expectRefusal } from '../../support/refusal.ts';

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
