import { foldCode } from '../core/codes.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import { toLook } from '../core/finish/to-look.ts';
import { choosePanelWidthMm } from '../core/picture/panel.ts';
import { IMAGE_TYPES, type ImageFormat, type SwatchKind, type SwatchLight } from '../core/picture/picture.ts';
import type { Context } from './context.ts';
import { digest } from './digest.ts';
import { makeMapReader } from './finish-maps.ts';
import { loadFinishes, unknownFinish } from './load-finishes.ts';
import type { FinishLibrary } from './loaded-product.ts';
import { shareInFlight } from './share-in-flight.ts';
import type { Picture } from './take-picture.ts';

export interface SwatchRequest {
  readonly kind: SwatchKind;
  readonly sizePx: number;
  readonly format: ImageFormat;
  /** The studio's when absent. A chip is flat in either. */
  readonly light?: SwatchLight;
  /** Width of the piece of a panel; chosen by the finish when absent. */
  readonly widthMm?: number;
}

/** The digest of all that determines a swatch. */
export function keySwatch(
  { studioVersion }: Pick<Context, 'studioVersion'>,
  finish: ResolvedFinish,
  request: SwatchRequest,
): string {
  const determines = request.kind === 'chip' ? [finish.hex] : [studioVersion, toLook(finish)];
  return digest(['swatch', determines, request]);
}

/**
 * The picture of a finish: a chip is its exact colour, all else the delivered material on a shape of the studio.
 * @param known finishes as they were when the caller looked; loaded when absent
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
  const stored = await context.pictures.get(key);
  if (stored) return { ...stored, source: 'stored' };
  return shareInFlight(key, async () => {
    const bytes = kind === 'chip' ? await context.imaging.makeChip(finish.hex, sizePx, format) : await shoot(kind);
    const picture = await context.pictures.put(key, bytes, IMAGE_TYPES[format]);
    return { ...picture, source: 'rendered' as const };
  });

  async function shoot(shape: Exclude<SwatchKind, 'chip'>): Promise<Uint8Array> {
    const kit = await context.models.makeKit(finish, makeMapReader(context));
    const { light = 'studio', widthMm = choosePanelWidthMm(finish.tile) } = request;
    const ground = format === 'jpg' ? 'white' : 'transparent';
    const raw = await context.renderer.takeSwatch({ kind: shape, light, widthMm, key, kit, sizePx, ground });
    return context.imaging.encode(raw, format, { lossless: light === 'flat' });
  }
}
