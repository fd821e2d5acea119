import { isNamedView, type ShotView, type View } from './picture/picture.ts';
import { Problem } from './problems.ts';
import { PICTURE_SET_PROBLEMS } from './texts/problems/picture.ts';

/** Lengths of Global Trade Item Numbers: GTIN-8, -12 (UPC-A), -13 (EAN-13) and -14. */
const LENGTHS: ReadonlySet<number> = new Set([8, 12, 13, 14]);

/**
 * Computes the check digit of a GS1 number. Weights the digits 3, 1, 3, … from the right and takes the difference to
 * the next multiple of ten (GS1 General Specifications, “Standard check digit calculations”).
 * @param digits without the check digit
 * @example computeCheckDigit('629104150021') // 3
 */
export function computeCheckDigit(digits: string): number {
  let sum = 0;
  for (let i = 0; i < digits.length; i++) sum += Number(digits[digits.length - 1 - i]) * (i % 2 === 0 ? 3 : 1);
  return (10 - (sum % 10)) % 10;
}

/**
 * Reads a GTIN into its stored form: 14 digits, shorter ones padded with leading zeros. Allows spaces and hyphens
 * between digits.
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

/**
 * Names a file by the GS1 Product Image Specification Standard (release 4.4, 2024): the GTIN as 14 digits, an
 * underscore, and four characters for kind of image, facing, angle and state. The pattern and its letters follow a help
 * page for suppliers that quotes release 4.4 (“GS1 Product Image Specification Standard”, filename structure). The page
 * leaves two things open; `GS1_CAVEAT` tells users about them.
 */
const FACINGS: Readonly<Record<View, string>> = {
  front: '1C',
  // Open: the quotations say “left angle (15° left pivot)”. Read here as the side that shows beside the front.
  'three-quarter': '1R',
  'three-quarter-left': '1L',
  // The camera stands at the product's +x, to the right of a person who faces its front.
  side: '8C',
  back: '7C',
  // The camera looks straight down: no plunge.
  top: '3N',
};

/** Open: read here as the limit between a product image for the web and a high-resolution image. */
const WEB_LONGEST_PX = 2400;

/** Lists what the quotations of the standard leave open, and how Dyeworks reads it. */
export const GS1_CAVEAT = `Two letters of GS1 names are not confirmed by the standard’s text: R and L of three-quarter views, taken as the side that shows beside the front, and C instead of A for pictures longer than ${WEB_LONGEST_PX} px. Ask the recipient before you rely on these.`;

/** Products are shown out of their packaging. */
const OUT_OF_PACKAGING = '0';

/**
 * The name without its ending. Null for views without letters in the pattern, such as close-ups of a part.
 * @param gtin 14 digits
 * @example nameByGs1('06291041500213', 'front', 2048) // '06291041500213_A1C0'
 */
export function nameByGs1(gtin: string, view: ShotView, longestPx: number): string | null {
  if (!isNamedView(view)) return null;
  const kind = longestPx <= WEB_LONGEST_PX ? 'A' : 'C';
  return `${gtin}_${kind}${FACINGS[view]}${OUT_OF_PACKAGING}`;
}
