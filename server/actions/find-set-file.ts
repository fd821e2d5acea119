import { foldCode } from '../core/codes.ts';
import { takesFinishes } from '../core/line/rules.ts';
import type { ShotView, SwatchKind } from '../core/picture/picture.ts';
import { chooseFillPercent, type FileEncoding, FORMAT_TYPES } from '../core/picture/picture-set.ts';
import type { PictureKey } from '../core/picture/plan-picture-set.ts';
import { type PictureFacts, writeXmp } from '../core/picture/write-xmp.ts';
import type { RawPicture } from '../core/ports/renderer.ts';
import { choiceOf, type Variant } from '../core/schedule/schedule.ts';
import { digest, shareInFlight } from './caching.ts';
import type { Context } from './context.ts';
import type { LoadedProduct } from './loaded-product.ts';
import { findPicture, type Picture } from './take-picture.ts';
import { keySwatch, type SwatchRequest, takeSwatch } from './take-swatch.ts';

/** A file before it is made, with its key in the picture store. */
interface FoundFile {
  /** Digest of the key of its pixels, its encoding, and its metadata. */
  readonly key: string;
  take(): Promise<Picture>;
}

interface FoundPixels {
  readonly key: string;
  take(): Promise<{ readonly raw: RawPicture; readonly source: Picture['source'] }>;
}

/**
 * Finds the key of a file, without making it. The key depends only on what the picture shows: a change elsewhere in the
 * schedule does not change it.
 * @param variant the variant that the picture shows; null for swatches
 * @throws Problem `no-model`, `picture-nothing-to-see`
 */
export async function findSetFile(
  context: Context,
  loaded: LoadedProduct,
  shot: PictureKey,
  variant: Variant | null,
): Promise<FoundFile> {
  const pixels =
    'finish' in shot.of
      ? findSwatchPixels(context, loaded, shot.of.finish, shot)
      : await findVariantPixels(shot.of.choices);
  const encoding: FileEncoding = {
    ...toEncoding(shot),
    xmp: writeXmp(describeShot(context, loaded, shot.of, variant)),
  };
  const key = digest(['file', pixels.key, encoding]);
  return {
    key,
    async take() {
      const stored = await context.pictures.get(key);
      if (stored) return { ...stored, source: 'stored' };
      return shareInFlight(key, async () => {
        const { raw, source } = await pixels.take();
        const bytes = await context.imaging.encodeFile(raw, encoding);
        return { ...(await context.pictures.put(key, bytes, FORMAT_TYPES[shot.format])), source };
      });
    },
  };

  function findVariantPixels(choices: Readonly<Record<string, string>>): Promise<FoundPixels> {
    const { widthPx, heightPx, bleedPx, ground, fill, scale, layer } = shot;
    return findPicture(context, loaded, choices, {
      widthPx,
      heightPx,
      view: shot.view as ShotView,
      ground,
      shadow: ({ whole: 'with', bare: 'without', shadow: 'only' } as const)[layer],
      framing: { fillPercent: chooseFillPercent(fill), marginPx: bleedPx, scale },
      many: true,
    });
  }
}

function findSwatchPixels(context: Context, loaded: LoadedProduct, finish: string, shot: PictureKey): FoundPixels {
  const request: SwatchRequest = { kind: shot.view as SwatchKind, sizePx: shot.widthPx, format: 'png' };
  return {
    key: keySwatch(context, loaded.finishes.resolve(finish), request),
    async take() {
      const { bytes, source } = await takeSwatch(context, finish, request, loaded.finishes);
      return { raw: await context.imaging.decode(bytes), source };
    },
  };
}

function toEncoding({ of, view, format, quality, ppi, ground }: PictureKey): FileEncoding {
  const ofFinish = 'finish' in of;
  return {
    format,
    ...(quality !== null && { quality }),
    ...(ppi !== null && { ppi }),
    // the studio draws the background of products, but swatches come transparent
    ...(ofFinish && ground !== 'transparent' && { ground: ground === 'white' ? '#ffffff' : (ground as `#${string}`) }),
    ...(format === 'webp' && ofFinish && view === 'chip' && { lossless: true }),
  };
}

/** The names of what a picture shows, for its XMP metadata. */
function describeShot(
  context: Context,
  loaded: LoadedProduct,
  of: PictureKey['of'],
  variant: Variant | null,
): PictureFacts {
  const tool = `Dyeworks ${context.version}`;
  const named = (finish: string, part: string | null) => {
    const { finish: code, name, names } = loaded.finishes.byCode.get(foldCode(finish))!;
    return { code, name, ...(names && { names }), part };
  };
  if ('finish' in of) return { product: null, variant: null, finishes: [named(of.finish, null)], tool };
  const { code, name } = loaded.product;
  return {
    product: { code, name, ...(variant?.gtin !== undefined && { gtin: variant.gtin }) },
    variant: variant && { name: variant.name },
    finishes: listShownSlots(loaded).flatMap(({ slot, label }) => {
      const finish = choiceOf(of.choices, slot);
      return finish === undefined ? [] : [named(finish, label)];
    }),
    tool,
  };
}

/** Slots that change and are visible. */
export function listShownSlots({ slots }: LoadedProduct) {
  return slots.filter(takesFinishes);
}
