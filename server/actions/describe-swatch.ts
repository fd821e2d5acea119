import { foldCode } from '../core/codes.ts';
import { deltaE2000 } from '../core/colour/lab.ts';
import { COLOUR_CAUTION } from '../core/delivery/delivery.ts';
import { checkWeave } from '../core/finish/check-moire.ts';
import { judgeFinish } from '../core/finish/tolerances.ts';
import { explainDistance, explainLight } from '../core/picture/explain-colour-difference.ts';
import { choosePanelWidthMm, findWholeRepeats, planPanel } from '../core/picture/panel.ts';
import type { SwatchKind } from '../core/picture/picture.ts';
import type {
  MeasuredColour,
  MeasuredField,
  MeasuredWhere,
  SwatchDescription,
} from '../core/picture/swatch-description.ts';
import { Problem } from '../core/problems.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';
import { digest } from './digest.ts';
import { loadFinishes, unknownFinish } from './load-finishes.ts';
import type { FinishLibrary } from './loaded-product.ts';
import { shareInFlight } from './share-in-flight.ts';
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
  const { kind, sizePx, light = 'studio' } = request;
  const flat = kind === 'chip' || light === 'flat';
  const where = chooseWhere(kind, flat, resolved.maps.colour !== undefined || resolved.supplied !== null);
  const widthMm = kind === 'panel' ? (request.widthMm ?? choosePanelWidthMm(resolved.tile)) : null;
  const panel = widthMm === null ? null : planPanel(sizePx, widthMm);
  const repeats = panel && resolved.tile && findWholeRepeats(panel, resolved.tile, flat);
  const field = where === 'mean' && repeats ? repeats : where;
  const measured = await readPicture(context, { code, request, library }, field, !flat && resolved.transmission > 0);
  const scale = panel && { widthMm: panel.widthMm, pxPerMm: panel.pxPerMm };
  const findings = checkWeave({
    finish: finish.finish,
    article: finish.article ? library.articles.get(foldCode(finish.article)) : null,
    tile: resolved.tile,
    where: kind,
    pxPerMm: scale?.pxPerMm ?? null,
  });
  return {
    finish: finish.finish,
    revision: finish.revision,
    kind,
    sizePx,
    light: flat ? 'flat' : 'studio',
    scale,
    specified: {
      lab: resolved.specifiedLab,
      illuminant: 'D65',
      observer: '2deg',
      hex: resolved.outOfGamutDeltaE > 0 ? null : resolved.hex,
      given: resolved.specification,
    },
    delivered: resolved.delivered && { ...resolved.delivered, deltaE: roundDeltaE(resolved.delivered.deltaE) },
    measured,
    deltaE: roundDeltaE(deltaE2000(resolved.specifiedLab, measured.lab)),
    tolerance: judgeFinish(finish, resolved),
    notes: [
      ...explainDistance(resolved, kind, flat),
      ...(flat ? [] : explainLight(resolved, measured)),
      ...(panel && !flat ? [GLOSS_NOTE] : []),
    ],
    findings,
    caution: COLOUR_CAUTION,
  };
}

const GLOSS_NOTE =
  'The upper quarter of the panel shows its gloss, seen at up to 59° from upright so that it mirrors the key light. The colour is measured below it.';

/** Folds face everywhere, so that a draped piece has no middle that speaks for it, unless the light is even. */
function chooseWhere(kind: SwatchKind, flat: boolean, patterned: boolean): Exclude<MeasuredWhere, 'whole-repeats'> {
  if (kind !== 'chip' && (patterned || (kind === 'cutting' && !flat))) return 'mean';
  return flat ? 'flat' : 'facing-centre';
}

/** Two decimals: pixels of 8 bits bear no more. */
function roundDeltaE(deltaE: number): number {
  return Math.round(deltaE * 100) / 100;
}

interface Asked {
  readonly code: string;
  readonly request: Omit<SwatchRequest, 'format'>;
  readonly library: FinishLibrary;
}

/** Takes the swatch as PNG, or finds it, and measures it once for as long as it is kept. */
async function readPicture(
  context: Context,
  { code, request, library }: Asked,
  where: MeasuredField,
  onWhite: boolean,
): Promise<MeasuredColour> {
  const picture = await takeSwatch(context, code, { ...request, format: 'png' }, library);
  const key = digest(['reading', 3, picture.sha256, where, onWhite]);
  const known = await context.pictures.get(key);
  if (known) return JSON.parse(new TextDecoder().decode(known.bytes)) as MeasuredColour;
  return shareInFlight(key, async () => {
    const measured = await context.imaging.measureColour(picture.bytes, where, onWhite);
    if (!measured) {
      throw new Problem('picture-nothing-to-see', {
        detail: PICTURE_PROBLEMS['picture-nothing-to-see'].clear(code),
      });
    }
    await context.pictures.put(key, new TextEncoder().encode(JSON.stringify(measured)), 'application/json');
    return measured;
  });
}
