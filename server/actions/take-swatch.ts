import { foldCode } from '../core/codes.ts';
import { deltaE2000 } from '../core/colour/lab.ts';
import { COLOUR_CAUTION } from '../core/delivery/delivery.ts';
import { checkWeave } from '../core/finish/check-map.ts';
import { type ResolvedFinish, toLook } from '../core/finish/resolve-finish.ts';
import { judgeFinish } from '../core/finish/tolerances.ts';
import { explainDistance, explainLight } from '../core/picture/explain-colour-difference.ts';
import { IMAGE_TYPES, type ImageFormat, type SwatchKind, type SwatchLight } from '../core/picture/picture.ts';
import {
  choosePanelWidthMm,
  findWholeRepeats,
  type MeasuredColour,
  type MeasuredField,
  type MeasuredWhere,
  planPanel,
  type SwatchDescription,
} from '../core/picture/swatch.ts';
import { Problem } from '../core/problems.ts';
import { GLOSS_BAND_NOTE } from '../core/texts/answer-texts.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import { digest, shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import { makeMapReader } from './finish-maps.ts';
import { loadFinishes, unknownFinish } from './load-finishes.ts';
import type { FinishLibrary } from './loaded-product.ts';
import type { Picture } from './take-picture.ts';
import { getShare, getTurn } from './turns.ts';

export interface SwatchRequest {
  readonly kind: SwatchKind;
  readonly sizePx: number;
  readonly format: ImageFormat;
  /** Default: the light of the studio. A chip is flat in both. */
  readonly light?: SwatchLight;
  /** Width of the piece on a panel. Default: chosen by the finish. */
  readonly widthMm?: number;
}

/** The digest of everything that a swatch depends on. */
export function keySwatch(
  { studioVersion }: Pick<Context, 'studioVersion'>,
  finish: ResolvedFinish,
  request: SwatchRequest,
): string {
  const determines = request.kind === 'chip' ? [finish.hex] : [studioVersion, toLook(finish)];
  return digest(['swatch', determines, request]);
}

/**
 * The picture of a finish. A chip is its exact colour; other kinds show the delivered material on a shape of the studio.
 * @param known finishes that the caller has loaded; loaded here by default
 * @throws Problem `unknown-finish-code`, `renderer-…`
 */
export async function takeSwatch(
  context: Context,
  code: string,
  request: SwatchRequest,
  known?: FinishLibrary,
): Promise<Picture> {
  const finishes = known ?? (await loadFinishes(context));
  if (!finishes.byCode.has(foldCode(code))) throw unknownFinish(code);
  const finish = finishes.resolve(code);
  const { kind, sizePx, format } = request;
  const key = keySwatch(context, finish, request);
  const stored = await context.pictures.get(key, getShare());
  if (stored) return { ...stored, source: 'stored' };
  return shareInFlight(key, async () => {
    getTurn().spend?.(sizePx * sizePx);
    const bytes = kind === 'chip' ? await context.imaging.makeChip(finish.hex, sizePx, format) : await shoot(kind);
    const picture = await context.pictures.put(key, bytes, IMAGE_TYPES[format], getShare());
    return { ...picture, source: 'rendered' as const };
  });

  async function shoot(shape: Exclude<SwatchKind, 'chip'>): Promise<Uint8Array> {
    const kit = await context.models.writeFinishGlb(finish, makeMapReader(context));
    const { light = 'studio', widthMm = choosePanelWidthMm(finish.tile) } = request;
    const ground = format === 'jpg' ? 'white' : 'transparent';
    const shot = { kind: shape, light, widthMm, key, kit, sizePx, ground } as const;
    const raw = await context.renderer.takeSwatch(shot, getTurn());
    return context.imaging.encode(raw, format, { lossless: light === 'flat' });
  }
}

/**
 * Measures a swatch of a finish. The measurement is stored beside the picture.
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
      ...(panel && !flat ? [GLOSS_BAND_NOTE] : []),
    ],
    findings,
    caution: COLOUR_CAUTION,
  };
}

/** The field of the picture to measure. Folds face in all directions, so draped cloth needs the mean unless the light is even. */
function chooseWhere(kind: SwatchKind, flat: boolean, patterned: boolean): Exclude<MeasuredWhere, 'whole-repeats'> {
  if (kind !== 'chip' && (patterned || (kind === 'cutting' && !flat))) return 'mean';
  return flat ? 'flat' : 'facing-centre';
}

/** Two decimals: pixels of 8 bits are not more accurate. */
function roundDeltaE(deltaE: number): number {
  return Math.round(deltaE * 100) / 100;
}

interface Asked {
  readonly code: string;
  readonly request: Omit<SwatchRequest, 'format'>;
  readonly library: FinishLibrary;
}

/** Takes the swatch as PNG, or finds it, and measures it once. */
async function readPicture(
  context: Context,
  { code, request, library }: Asked,
  where: MeasuredField,
  onWhite: boolean,
): Promise<MeasuredColour> {
  const picture = await takeSwatch(context, code, { ...request, format: 'png' }, library);
  const key = digest(['reading', 3, picture.sha256, where, onWhite]);
  const known = await context.pictures.get(key, getShare());
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
