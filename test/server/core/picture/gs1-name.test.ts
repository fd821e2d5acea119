import { expect, it } from 'vitest';
import { nameByGs1 } from '../../../../server/core/picture/gs1-name.ts';
import { VIEWS } from '../../../../server/core/picture/picture.ts';

const GTIN = '06291041500213';

// Pattern as suppliers' guides quote the GS1 Product Image Specification Standard, release 4.4 (2024): 14 digits, underscore,
// kind A–E, facing 1 front, 2 left, 3 top, 7 back, 8 right, 9 bottom, angle C, L, R or N, state 0 out of or 1 in packaging.
const PATTERN = /^\d{14}_[A-E][0123789][CLRN][01]$/;

it('names every view by the pattern, and no two alike', () => {
  const names = VIEWS.map((view) => nameByGs1(GTIN, view, 2048)!);
  for (const name of names) expect(name).toMatch(PATTERN);
  expect(new Set(names).size).toBe(VIEWS.length);
  expect(names.slice(0, 2)).toEqual([`${GTIN}_A1C0`, `${GTIN}_A1R0`]);
  expect(nameByGs1(GTIN, 'back', 2048)).toBe(`${GTIN}_A7C0`);
});

it('tells pictures of high resolution from those for the web', () => {
  expect(nameByGs1(GTIN, 'front', 2400)).toBe(`${GTIN}_A1C0`);
  expect(nameByGs1(GTIN, 'front', 2401)).toBe(`${GTIN}_C1C0`);
});

it('has no letters for a close view', () => {
  expect(nameByGs1(GTIN, 'slot:seat', 2048)).toBeNull();
});
