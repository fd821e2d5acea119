import { foldCode } from '../core/codes.ts';
import { checkWeave } from '../core/finish/check-moire.ts';
import { isNamedView } from '../core/picture/picture.ts';
import { estimateCamera, LENS, STANDS } from '../core/picture/place-camera.ts';
import type { Finding } from '../core/product/finding.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import type { Context } from './context.ts';
import { loadProduct } from './load-product.ts';
import { requireModel } from './loaded-product.ts';
import { setCamera } from './set-camera.ts';
import { needAllowed, type PictureRequest } from './take-picture.ts';

export interface CameraDescription {
  /** Before a frame of 36 × 24 mm; the short side of a picture is the 24 mm whatever its shape. */
  readonly lensMm: number;
  /** From the lens to the middle of the product, m. */
  readonly distanceM: number;
  /** Around the product from its front towards its right-hand side as seen from there (+x), and above the horizon. */
  readonly yawDegrees: number;
  readonly elevationDegrees: number;
}

/** What can be said of a picture without taking it. */
export interface PictureDescription {
  readonly product: string;
  /** A finish for every slot, those that were not named from the default variant. */
  readonly choices: Readonly<Record<string, string>>;
  readonly view: PictureRequest['view'];
  readonly widthPx: number;
  readonly heightPx: number;
  /** Pixels to a millimetre in the middle of the product, about; null for a close view, and for a model without an extent. */
  readonly pxPerMm: number | null;
  /** Where the camera stands, about; null where the scale is. */
  readonly camera: CameraDescription | null;
  readonly findings: readonly Finding[];
}

/**
 * Scale of a picture, and what will not come out well in it: weaves finer than its raster.
 * @throws Problem as `takeChoicePicture`, but nothing of the studio's
 */
export async function describePicture(
  context: Context,
  code: string,
  given: Readonly<Record<string, string>>,
  request: Pick<PictureRequest, 'view' | 'widthPx' | 'heightPx' | 'framing'>,
): Promise<PictureDescription> {
  const loaded = await loadProduct(context, code);
  const { survey } = requireModel(loaded);
  const choices = needAllowed(loaded, given);
  const { view, widthPx, heightPx } = request;
  const { framing } = await setCamera(context, loaded, request);
  const { mount } = loaded.product;
  const place =
    survey.size && isNamedView(view)
      ? estimateCamera({ size: survey.size, mount, view, widthPx, heightPx, ...framing })
      : null;
  const pxPerMm = place && place.pxPerM / 1000;
  const findings = loaded.slots.flatMap((slot): Finding[] => {
    const finish = loaded.finishes.byCode.get(foldCode(choiceOf(choices, slot.slot) ?? ''));
    if (!finish) return [];
    return checkWeave({
      finish: finish.finish,
      article: finish.article ? loaded.finishes.articles.get(foldCode(finish.article)) : null,
      tile: loaded.finishes.resolve(finish.finish).tile,
      where: `slot ${slot.slot}`,
      pxPerMm,
    });
  });
  const camera = place &&
    isNamedView(view) && {
      lensMm: LENS.focalMm,
      distanceM: Number(place.distanceM.toFixed(3)),
      ...STANDS[view],
    };
  return { product: loaded.product.code, choices, view, widthPx, heightPx, pxPerMm, camera: camera || null, findings };
}
