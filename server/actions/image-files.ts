import { checkEncoding, checkMap, checkMapUse, looksNormal, type MapUnderCheck } from '../core/finish/check-map.ts';
import {
  type ConvertedColour,
  type ImageEncoding,
  MAP_TYPES,
  type MapFacts,
  type MapUse,
} from '../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../core/picture/picture.ts';
import type { StoredImage } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Finding } from '../core/product/finding.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import type { Context, MeasuredImage } from './context.ts';
import { recallMapFacts } from './finish-maps.ts';
import { getTurn } from './turns.ts';

/**
 * Stores an image for the maps of finishes. Its use is not known yet, so an image in another colour space than sRGB gets a
 * converted copy, which finishes use as their colour map.
 * @throws Problem `image-type`, `image-unreadable`, `image-colour-model`, `image-too-large`
 */
export async function addFile(context: Context, bytes: Uint8Array): Promise<StoredImage> {
  const mimeType = context.imaging.sniff(bytes);
  if (!mimeType) {
    throw new Problem('image-type', {
      detail: FINISH_PROBLEMS['image-type'],
      expected: MAP_TYPES,
    });
  }
  const measured = await context.imaging.measure(bytes, getTurn());
  const { widthPx, heightPx } = measured;
  if (widthPx * heightPx > MAP_PIXEL_LIMIT) {
    throw new Problem('image-too-large', {
      detail: FINISH_PROBLEMS['image-too-large'].upload(widthPx, heightPx),
      expected: MAP_PIXEL_LIMIT,
      received: widthPx * heightPx,
    });
  }
  const { encoding, copy } =
    mimeType === 'image/ktx2' ? { encoding: null, copy: null } : await readEncoding(context, bytes, measured);
  const stored = await context.files.putBytes(bytes);
  const image: StoredImage = { ...stored, mimeType, widthPx, heightPx, encoding };
  await context.stores.transaction(async (tx) => {
    if (copy) await tx.addFile(copy);
    await tx.putMapFacts(stored.sha256, measured.facts);
    await tx.addFile(image);
  });
  return image;
}

/** Reads the ICC profile, and makes a converted copy if the image needs one. */
async function readEncoding(
  { imaging, files }: Pick<Context, 'imaging' | 'files'>,
  bytes: Uint8Array,
  { widthPx, heightPx, bitsPerChannel, hasProfile }: MeasuredImage,
): Promise<{ readonly encoding: ImageEncoding; readonly copy: StoredImage | null }> {
  const converted: ConvertedColour | null = hasProfile
    ? await imaging.convertToSrgb(bytes, getTurn()).catch(refuseProfile)
    : null;
  const { profile = null, png = null, outside = null } = converted ?? {};
  const copy: StoredImage | null = png && {
    ...(await files.putBytes(png)),
    mimeType: 'image/png',
    widthPx,
    heightPx,
    encoding: { profile: null, bitsPerChannel: 8, asColour: null, outside: null },
  };
  return { encoding: { profile, bitsPerChannel, asColour: copy?.sha256 ?? null, outside }, copy };
}

/** The pixels were read before, so only the profile can be the cause. */
function refuseProfile(cause: unknown): never {
  if (cause instanceof Problem) throw cause;
  throw new Problem('image-unreadable', {
    detail: FINISH_PROBLEMS['image-unreadable'].profile,
    cause,
  });
}

/** An uploaded image, its measurements, and findings about it as a map. */
interface DescribedFile extends StoredImage {
  /** Null if the image is not measured, as for KTX2. */
  readonly facts: MapFacts | null;
  /** Null without measurements. */
  readonly looksLike: 'normal' | 'grey' | 'colour' | null;
  /** Findings that hold for every use. */
  readonly findings: readonly Finding[];
  /** Further findings by use. */
  readonly uses: Readonly<Record<MapUse, readonly Finding[]>>;
}

/**
 * Describes an uploaded image.
 * @throws Problem `not-found` for a digest without an uploaded image
 */
export async function describeFile(
  context: Pick<Context, 'stores' | 'files' | 'imaging'>,
  sha256: string,
): Promise<DescribedFile> {
  const image = await context.stores.getFile(sha256);
  if (!image) {
    throw new Problem('not-found', {
      detail: FINISH_PROBLEMS['not-found'].image,
      received: sha256.slice(0, 80),
    });
  }
  return describe(image, await recallMapFacts(context, sha256));
}

function describe(image: StoredImage, facts: MapFacts | null): DescribedFile {
  const map: MapUnderCheck = { ...image, facts };
  const checkUse = (use: MapUse) => [...checkMapUse(map, use), ...checkEncoding(image, use)];
  return {
    ...image,
    facts,
    looksLike: facts && (looksNormal(facts) ? 'normal' : facts.content.grey ? 'grey' : 'colour'),
    findings: checkMap(map),
    uses: {
      colour: checkUse('colour'),
      normal: checkUse('normal'),
      roughness: checkUse('roughness'),
    },
  };
}
