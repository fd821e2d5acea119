import { isNamedView, type ShotView, type View } from './picture.ts';

/**
 * What a file is called by the GS1 Product Image Specification Standard (release 4.4, 2024): the GTIN as 14 digits, an
 * underscore, and four characters for kind of image, facing, angle and state. The pattern and its letters are as suppliers'
 * guides quote the standard; two readings are from memory, and said so where they are made.
 */
const FACINGS: Readonly<Record<View, string>> = {
  front: '1C',
  // the letter is that of the side which shows beside the front (from memory; the guides say “left” and “right angle”)
  'three-quarter': '1R',
  'three-quarter-left': '1L',
  // the camera stands at the product's +x, on the right of whoever faces its front
  side: '8C',
  back: '7C',
  // looked at straight down: no plunge
  top: '3N',
};

/** Up to here a picture is a product image for the web, beyond it one of high resolution (from memory). */
const WEB_LONGEST_PX = 2400;

/** A product that is sold is shown out of its packaging. */
const OUT_OF_PACKAGING = '0';

/**
 * The name without its ending; null for views the pattern has no letters for, such as close views of a part.
 * @param gtin 14 digits
 * @example nameByGs1('06291041500213', 'front', 2048) // '06291041500213_A1C0'
 */
export function nameByGs1(gtin: string, view: ShotView, longestPx: number): string | null {
  if (!isNamedView(view)) return null;
  const kind = longestPx <= WEB_LONGEST_PX ? 'A' : 'C';
  return `${gtin}_${kind}${FACINGS[view]}${OUT_OF_PACKAGING}`;
}
