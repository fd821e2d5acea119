import { expect, it } from 'vitest';
import { nameColumns } from '../../../../server/core/import/name-columns.ts';

// Headers as instruments and makers write them: CIE axes (ISO/CIE 11664-4), gloss by angle (ISO 2813), wavelengths in nm.

it.each([
  ['L*', 'l'],
  ['a*', 'a'],
  ['CIE b*', 'b'],
  ['L* (D65/10°)', 'l'],
  ['Lab_a', 'a'],
  ['CIE X', 'x'],
  ['Gloss 60', 'gu60'],
  ['Gloss 60°', 'gu60'],
  ['Gloss @ 20°', 'gu20'],
  ['gloss_85 [GU]', 'gu85'],
  ['60° gloss', 'gu60'],
  ['400 nm', 'nm400'],
  ['R400', 'nm400'],
  ['Item No.', 'code'],
  ['SKU', 'code'],
  ['Colour name', 'name'],
  ['Color', 'name'],
  ['HEX code', 'hex'],
  ['Manufacturer', 'supplier'],
  ['Remarks', 'note'],
  ['name:DE', 'name:DE'],
  ['Gloss', null],
  ['Price', null],
  ['', null],
])('%s means %s', (header, column) => {
  expect(nameColumns([header])).toEqual([column]);
});

it('takes each column once, and the exact name first', () => {
  expect(nameColumns(['SKU', 'code', 'Item no.'])).toEqual([null, 'code', null]);
  expect(nameColumns(['SKU', 'Item no.'])).toEqual(['code', null]);
  // a column twice is an error that the import reports
  expect(nameColumns(['code', 'CODE'])).toEqual(['code', 'code']);
});
