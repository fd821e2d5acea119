import sharp from 'sharp';
import { type ImageMimeType, sniffImage } from '../../../core/finish/map-image.ts';
import { MAP_PIXEL_LIMIT } from '../../../core/picture/picture.ts';
import type { RepairOf } from '../../../core/repair/repair.ts';
import { REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import { type Pixels, readPixels } from '../../../images/image-codec.ts';
import { readImageSize, readJpegQuality } from '../../../images/read-header.ts';
import { shrinkPixels } from '../../../images/shrink-pixels.ts';
import { declareImageFormats } from '../../document/extensions.ts';
import type { GltfJson, TextureJson } from '../../document/json.ts';
import { listSources, listTextureUses } from '../../document/read-material.ts';
import { findImageBytes } from '../../document/stored-bytes.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['fit-textures'];

/** Enough for a product that fills a large screen (common practice). */
const DEFAULT_SIZE_PX = 2048;
const WEBP = 'EXT_texture_webp';

/**
 * Reduces the images of materials to a size and converts them to a format; never enlarges them. Leaves images that no
 * material uses to `strip-unused`.
 */
export const fitTextures: Repairer<'fit-textures'> = {
  async apply(edit, repair) {
    const sizePx = repair.sizePx ?? DEFAULT_SIZE_PX;
    const wrong = check(sizePx, repair.quality ?? DEFAULT_QUALITY);
    if (wrong) return unfit(wrong);
    const uses = listImageUses(edit.json);
    if (uses.size === 0) return nothingToDo(OUTCOMES.noMaps);
    const tally: Tally = { fitted: new Map(), kept: 0, compressed: 0, unread: [], bytesBefore: 0 };
    const paired = listPaired(edit.json);
    // one after the other, so that only one is decoded in memory
    for (const [image, use] of [...uses].sort(([a], [b]) => a - b)) {
      await fitOne(edit, image, use, { ...repair, sizePx, ...(paired.has(image) ? { format: 'keep' } : {}) }, tally);
    }
    const unchanged = OUTCOMES.unchanged(tally.kept, tally.compressed, tally.unread);
    if (tally.fitted.size === 0) return nothingToDo(OUTCOMES.nothing(uses.size) + unchanged);
    let bytesAfter = 0;
    for (const [image, { bytes, mimeType }] of tally.fitted) {
      bytesAfter += bytes.length;
      replaceImage(edit, image, bytes, mimeType);
    }
    declareImageFormats(edit.json);
    const { fitted, bytesBefore } = tally;
    const figures = { images: fitted.size, sizePx, bytesBefore, bytesAfter };
    return done(OUTCOMES.done({ ...figures, of: uses.size }) + unchanged, figures);
  },
};

function check(sizePx: number, quality: number): string | null {
  const limit = Math.sqrt(MAP_PIXEL_LIMIT);
  if (!(Number.isInteger(sizePx) && sizePx >= 1 && sizePx <= limit)) {
    return OUTCOMES.size(sizePx, limit);
  }
  if (!(Number.isInteger(quality) && quality >= 1 && quality <= 100)) {
    return OUTCOMES.quality(quality);
  }
  return null;
}

interface Tally {
  readonly fitted: Map<number, FittedImage>;
  kept: number;
  compressed: number;
  readonly unread: number[];
  /** Bytes of the replaced images. */
  bytesBefore: number;
}

async function fitOne(
  { loaded }: ModelEdit,
  image: number,
  use: ImageUse,
  options: RepairOf<'fit-textures'> & { readonly sizePx: number },
  tally: Tally,
): Promise<void> {
  const bytes = findImageBytes(loaded, image);
  const mimeType = bytes && sniffImage(bytes);
  if (mimeType === 'image/ktx2') {
    tally.compressed++;
    return;
  }
  const size = bytes && mimeType && readImageSize(bytes, mimeType);
  try {
    if (!bytes || !mimeType || !size) throw new Error('not a readable image');
    const fitted = await fitImage(bytes, mimeType, size, use, options);
    if (fitted) {
      tally.fitted.set(image, fitted);
      tally.bytesBefore += bytes.length;
    } else tally.kept++;
  } catch {
    tally.unread.push(image);
  }
}

/** Images of textures that offer the same image in two formats. */
function listPaired(json: GltfJson): Set<number> {
  const pairs = (json.textures ?? []).map(listSources).filter((sources) => sources.length > 1);
  return new Set(pairs.flat());
}

/** Replaces the bytes of an image, and updates its textures for the format. */
function replaceImage(edit: ModelEdit, index: number, bytes: Buffer, mimeType: FittedImage['mimeType']): void {
  const { json } = edit;
  const { uri: _, ...image } = json.images![index]!;
  json.images![index] = { ...image, mimeType, bufferView: edit.addView(bytes) };
  for (const texture of json.textures ?? []) {
    const sources = listSources(texture);
    if (sources.length === 1 && sources[0] === index) setSource(texture, index, mimeType === 'image/webp');
  }
}

function setSource(texture: TextureJson, image: number, isWebp: boolean): void {
  const { [WEBP]: webp, ...others } = texture.extensions ?? {};
  delete texture.source;
  delete texture.extensions;
  if (isWebp) texture.extensions = { ...others, [WEBP]: { ...webp, source: image } };
  else {
    texture.source = image;
    if (Object.keys(others).length > 0) texture.extensions = others;
  }
}

type RasterMimeType = Exclude<ImageMimeType, 'image/ktx2'>;

interface FittedImage {
  readonly bytes: Buffer;
  readonly mimeType: RasterMimeType;
}

interface FitOptions extends Omit<RepairOf<'fit-textures'>, 'repair' | 'accept'> {
  readonly sizePx: number;
}

const FORMATS = { jpg: 'image/jpeg', png: 'image/png', webp: 'image/webp' } as const;
/** Common practice for the web is 80–90; from 90 on, blocks are hardly visible. */
const DEFAULT_QUALITY = 90;

/**
 * Reduces one image to a size and converts it to a format.
 * 1. Colour is averaged in linear light, everything else as plain numbers.
 * 2. Normal maps become lossless, unless lossy ones are allowed. A lossy one keeps its format where a lossless file would be
 *    larger.
 * 3. An image with transparency does not become JPEG, which has no alpha.
 * 4. A format that only makes the file larger is not used. An image above the size is always reduced, even where a plain PNG
 *    grows by it, since memory shrinks with the area.
 * @returns null if the image stays as it is
 * @throws if the image cannot be decoded
 */
async function fitImage(
  bytes: Uint8Array,
  mimeType: RasterMimeType,
  size: { readonly widthPx: number; readonly heightPx: number },
  use: ImageUse,
  options: FitOptions,
): Promise<FittedImage | null> {
  const longest = Math.max(size.widthPx, size.heightPx);
  const scale = Math.min(1, options.sizePx / longest);
  const wanted = options.format === undefined || options.format === 'keep' ? mimeType : FORMATS[options.format];
  const lossless = use.normal && !options.lossyNormals;
  const target = lossless && wanted === 'image/jpeg' ? 'image/png' : wanted;
  if (scale === 1 && target === mimeType && !isBetterThanAsked(bytes, mimeType, lossless, options)) return null;

  const pixels = await readPixels(bytes);
  const opaque = isOpaque(pixels);
  const fitted =
    scale === 1
      ? pixels
      : shrinkPixels(pixels, reduce(size.widthPx, scale), reduce(size.heightPx, scale), {
          asLight: use.colour && !use.normal,
          byAlpha: use.shapes,
        });
  const format = target === 'image/jpeg' && !opaque ? (mimeType === 'image/jpeg' ? 'image/png' : mimeType) : target;
  const quality = options.quality ?? DEFAULT_QUALITY;
  const encoded = await encode(fitted, format, { quality, lossless, opaque, data: !use.colour });
  const asked = { bytes: encoded, mimeType: format };
  if (encoded.length < bytes.length) return asked;
  if (scale === 1) return null;
  if (format === mimeType) return asked;
  const own = {
    bytes: await encode(fitted, mimeType, { quality, lossless: false, opaque, data: !use.colour }),
    mimeType,
  };
  return own.bytes.length < encoded.length ? own : asked;
}

const reduce = (px: number, scale: number) => Math.max(1, Math.round(px * scale));

/** Each encoding as JPEG loses a little, so a JPEG is encoded again only to reach a lower quality that was asked for. */
function isBetterThanAsked(bytes: Uint8Array, mimeType: string, lossless: boolean, { quality }: FitOptions): boolean {
  if (mimeType !== 'image/jpeg' || lossless || quality === undefined) return false;
  return (readJpegQuality(bytes) ?? 0) > quality;
}

export function isOpaque({ data, channels }: Pixels): boolean {
  if (channels === 3) return true;
  for (let i = 3; i < data.length; i += 4) if (data[i] !== 255) return false;
  return true;
}

function isGrey(data: Buffer, channels: number): boolean {
  for (let i = 0; i < data.length; i += channels) {
    if (data[i] !== data[i + 1] || data[i] !== data[i + 2]) return false;
  }
  return true;
}

interface Encoding {
  readonly quality: number;
  readonly lossless: boolean;
  readonly opaque: boolean;
  /** The channels hold separate data, so chroma must not be subsampled. */
  readonly data: boolean;
}

function encode(
  { data, widthPx, heightPx, channels }: Pixels,
  format: RasterMimeType,
  { quality, lossless, opaque, data: plain }: Encoding,
): Promise<Buffer> {
  const raw = sharp(data, { raw: { width: widthPx, height: heightPx, channels } });
  let image = opaque && channels === 4 ? raw.removeAlpha() : raw;
  // WebP has no greyscale
  if (format !== 'image/webp' && isGrey(data, channels)) image = image.toColourspace('b-w');
  switch (format) {
    case 'image/jpeg':
      return image.jpeg({ quality, chromaSubsampling: '4:4:4' }).toBuffer();
    case 'image/webp':
      // lossy WebP subsamples chroma; near-lossless does not
      return image
        .webp(lossless ? { lossless, exact: true } : plain ? { nearLossless: true, quality, exact: true } : { quality })
        .toBuffer();
    default:
      return image.png({ compressionLevel: 9 }).toBuffer();
  }
}

/** How materials use an image. */
export interface ImageUse {
  /** As directions: a normal map, or that of a clearcoat. */
  readonly normal: boolean;
  /** As sRGB colour. */
  readonly colour: boolean;
  /** As coverage, by its alpha. */
  readonly shapes: boolean;
}

/** Properties whose images are sRGB; all others hold plain numbers (glTF 2.0 and its extensions). */
const COLOUR_TEXTURE =
  /(baseColor|diffuse|emissive|sheenColor|specularColor|diffuseTransmissionColor|specularGlossiness)Texture$/;
const NORMAL_TEXTURE = /normalTexture$/i;
/** Properties whose alpha is coverage. */
const COVERAGE_TEXTURE = /(baseColor|diffuse)Texture$/;

/** How the materials use each image, by index. */
export function listImageUses(json: GltfJson): Map<number, ImageUse> {
  const uses = new Map<number, ImageUse>();
  for (const material of json.materials ?? []) {
    for (const { use, info } of listTextureUses(material)) {
      for (const image of listSources(json.textures?.[info.index] ?? {})) {
        const { normal, colour, shapes } = uses.get(image) ?? { normal: false, colour: false, shapes: false };
        uses.set(image, {
          normal: normal || NORMAL_TEXTURE.test(use),
          colour: colour || COLOUR_TEXTURE.test(use),
          shapes: shapes || (COVERAGE_TEXTURE.test(use) && (material.alphaMode ?? 'OPAQUE') !== 'OPAQUE'),
        });
      }
    }
  }
  return uses;
}
