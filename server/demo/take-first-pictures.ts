import type { Context } from '../actions/context.ts';
import { loadProduct } from '../actions/load-product.ts';
import { takeVariantPicture } from '../actions/take-picture.ts';
import { PICTURE_SIZE_PX } from '../core/picture/picture.ts';

/** Sides of the pictures, px: that of the home page, then the one that a product's page shows before its view. */
const SIDES = [PICTURE_SIZE_PX.default, 256];

/**
 * Takes the pictures that the first visit shows, so that they are stored when a person comes. A picture that cannot be taken is
 * left to that visit.
 * @param products codes
 * @param closing ends the work before the next picture
 */
export async function takeFirstPictures(
  context: Context,
  products: readonly string[],
  closing: AbortSignal,
): Promise<void> {
  for (const side of SIDES) {
    for (const product of products) {
      if (closing.aborted) return;
      try {
        const { schedule } = await loadProduct(context, product);
        if (!schedule) continue;
        await takeVariantPicture(context, product, schedule.schedule.default, {
          widthPx: side,
          heightPx: side,
          format: 'webp',
          view: 'three-quarter',
          ground: 'transparent',
        });
      } catch {
        // without a browser there are no pictures, and the pages say so
        return;
      }
    }
  }
}
