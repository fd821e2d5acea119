import { foldCode } from '../core/codes.ts';
import { deltaE2000, linearToLab } from '../core/colour/lab.ts';
import { COLOUR_CAUTION } from '../core/delivery/delivery.ts';
import { judgeDifference } from '../core/finish/judge-difference.ts';
import { toleranceOf } from '../core/finish/tolerances.ts';
import { explainDistance } from '../core/picture/explain-distance.ts';
import { type MeasuredColour, type MeasuredWhere, measureSwatch } from '../core/picture/measure-swatch.ts';
import type { SwatchDescription } from '../core/picture/swatch-description.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';
import { loadFinishes, unknownFinish } from './load-product.ts';
import { once } from './once.ts';
import { digest } from './studio-files.ts';
import { type SwatchRequest, takeSwatch } from './take-swatch.ts';

/**
 * Measures a swatch of a finish; the reading is kept beside the picture.
 * @throws Problem as `takeSwatch`
 */
export async function describeSwatch(
  context: Context,
  code: string,
  request: Omit<SwatchRequest, 'format'>,
): Promise<SwatchDescription> {
  const library = await loadFinishes(context);
  const finish = library.byCode.get(foldCode(code));
  if (!finish) throw unknownFinish(code);
  const resolved = library.resolve(code);
  const patterned = resolved.maps.colour !== undefined || resolved.supplied !== null;
  const where: MeasuredWhere = request.kind === 'chip' ? 'flat' : patterned ? 'mean' : 'facing-centre';
  const measured = await readPicture(context, code, request, where);
  const delivered = linearToLab(resolved.baseColour);
  return {
    finish: finish.finish,
    revision: finish.revision,
    ...request,
    specified: { lab: resolved.specifiedLab, given: finish.colour },
    delivered: { lab: delivered, hex: resolved.hex, deltaE: resolved.outOfGamutDeltaE },
    measured,
    deltaE: deltaE2000(resolved.specifiedLab, measured.lab),
    tolerance: judgeDifference(resolved.specifiedLab, delivered, toleranceOf(finish.family, resolved.metalness === 1)),
    notes: explainDistance(resolved, request.kind),
    caution: COLOUR_CAUTION,
  };
}

/** Takes the swatch as PNG, or finds it, and measures it once for as long as it is kept. */
async function readPicture(
  context: Context,
  code: string,
  request: Omit<SwatchRequest, 'format'>,
  where: MeasuredWhere,
): Promise<MeasuredColour> {
  const picture = await takeSwatch(context, code, { ...request, format: 'png' });
  const key = digest(['reading', 1, picture.sha256, where]);
  const known = await context.pictures.get(key);
  if (known) return JSON.parse(new TextDecoder().decode(known.bytes)) as MeasuredColour;
  return once(key, async () => {
    const measured = measureSwatch(await context.imaging.decode(picture.bytes), where);
    if (!measured) {
      throw new Problem('picture-nothing-to-see', {
        detail: `Nothing of the swatch of ${code} can be seen: the finish lets all light through. Ask for its chip.`,
      });
    }
    await context.pictures.put(key, new TextEncoder().encode(JSON.stringify(measured)), 'application/json');
    return measured;
  });
}
