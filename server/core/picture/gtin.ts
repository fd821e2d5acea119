import { Problem } from '../problems.ts';
import { PICTURE_SET_PROBLEMS } from '../texts/problems/picture-set.ts';

/** Lengths of Global Trade Item Numbers: GTIN-8, -12 (UPC-A), -13 (EAN-13) and -14. */
const LENGTHS: ReadonlySet<number> = new Set([8, 12, 13, 14]);

/**
 * The check digit of a GS1 number without it: digits weighted 3, 1, 3, … from the right, up to the next multiple of ten
 * (GS1 General Specifications, “Standard check digit calculations”).
 * @param digits without the check digit
 * @example computeCheckDigit('629104150021') // 3
 */
export function computeCheckDigit(digits: string): number {
  let sum = 0;
  for (let i = 0; i < digits.length; i++) sum += Number(digits[digits.length - 1 - i]) * (i % 2 === 0 ? 3 : 1);
  return (10 - (sum % 10)) % 10;
}

/**
 * A GTIN as it is kept: 14 digits, shorter ones with zeros before them. Spaces and hyphens between digits are let pass.
 * @throws Problem `invalid-gtin`
 */
export function readGtin(text: string, where: string): string {
  const digits = text.replace(/[\s-]/g, '');
  if (!/^\d+$/.test(digits) || !LENGTHS.has(digits.length)) {
    throw new Problem('invalid-gtin', {
      detail: PICTURE_SET_PROBLEMS['invalid-gtin'].length(text.slice(0, 40)),
      expected: '8, 12, 13 or 14 digits',
      received: text.slice(0, 40),
      where,
    });
  }
  const check = computeCheckDigit(digits.slice(0, -1));
  if (Number(digits.at(-1)) !== check) {
    throw new Problem('invalid-gtin', {
      detail: PICTURE_SET_PROBLEMS['invalid-gtin'].checkDigit(digits, check, digits.at(-1)!),
      expected: digits.slice(0, -1) + check,
      received: digits,
      where,
    });
  }
  return digits.padStart(14, '0');
}
