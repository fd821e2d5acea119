import { isNamedView, type ShotView, type View } from './picture.ts';

/**
 * What a file is called by the GS1 Product Image Specification Standard (release 4.4, 2024): the GTIN as 14 digits, an
 * underscore, and four characters for kind of image, facing, angle and state. The pattern and its letters are as a help page
 * for suppliers quotes release 4.4 (“GS1 Product Image Specification Standard”, filename structure). It leaves two things open,
 * which `GS1_CAVEAT` says to whoever asks for such names.
 */
const FACINGS: Readonly<Record<View, string>> = {
  front: '1C',
  // open: the quotations say “left angle (15° left pivot)”; taken as the side that shows beside the front
  'three-quarter': '1R',
  'three-quarter-left': '1L',
  // the camera stands at the product's +x, on the right of whoever faces its front
  side: '8C',
  back: '7C',
  // looked at straight down: no plunge
  top: '3N',
};

/** Open: up to here a picture is taken as a product image for the web, beyond it as one of high resolution. */
const WEB_LONGEST_PX = 2400;

/** What the quotations of the standard leave open, and how it is read here. */
export const GS1_CAVEAT = `Two letters of GS1 names are not confirmed by the standard’s text: R and L of three-quarter views, taken as the side that shows beside the front, and C instead of A for pictures longer than ${WEB_LONGEST_PX} px. Ask the recipient before you rely on these.`;

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
