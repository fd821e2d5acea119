import { foldCode } from '../core/codes.ts';
import { checkWeave } from '../core/finish/check-weave.ts';
import { estimateScale } from '../core/picture/estimate-scale.ts';
import type { Finding } from '../core/product/finding.ts';
import { choiceOf } from '../core/schedule/schedule.ts';
import type { Context } from './context.ts';
import { loadProduct, needModel } from './load-product.ts';
import { needAllowed, type PictureRequest } from './take-picture.ts';

/** What can be said of a picture without taking it. */
export interface PictureDescription {
  readonly product: string;
  /** A finish for every slot, those that were not named from the default variant. */
  readonly choices: Readonly<Record<string, string>>;
  readonly view: PictureRequest['view'];
  readonly widthPx: number;
  readonly heightPx: number;
  /** Pixels to a millimetre in the middle of the product, about; null for a model without an extent. */
  readonly pxPerMm: number | null;
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
  { view, widthPx, heightPx }: Pick<PictureRequest, 'view' | 'widthPx' | 'heightPx'>,
): Promise<PictureDescription> {
  const loaded = await loadProduct(context, code);
  const { survey } = needModel(loaded);
  const choices = needAllowed(loaded, given);
  const pxPerMm = survey.size && estimateScale({ size: survey.size, view, widthPx, heightPx });
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
  return { product: loaded.product.code, choices, view, widthPx, heightPx, pxPerMm, findings };
}
