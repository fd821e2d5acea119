import sharp from 'sharp';
import type { FormLoss, TextureForm, TextureLoss } from '../../core/delivery/compressed-form.ts';
import { type ImageMimeType, sniffImage } from '../../core/finish/map-image.ts';
import { comparePixels } from '../../images/compare-pixels.ts';
import { encodeKtx2, KTX2_TEXELS } from '../../images/encode-ktx2.ts';
import { decodeKtx2 } from '../../images/find-image-fault.ts';
import { type Pixels, readPixels } from '../../images/image-codec.ts';
import { declareImageFormats } from '../document/extensions.ts';
import { type GltfJson, readName, type TextureJson } from '../document/json.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import { listSources } from '../document/read-material.ts';
import { findImageBytes } from '../document/stored-bytes.ts';
import { type ImageUse, isOpaque, listImageUses } from '../repair/operations/fit-textures.ts';
import type { ViewEdit } from './view-edit.ts';

type Kept = FormLoss['kept'][number];

const EXTENSIONS: Partial<Record<ImageMimeType, string>> = {
  'image/webp': 'EXT_texture_webp',
  'image/ktx2': 'KHR_texture_basisu',
};

/** Quality of colour in WebP: the mean ΔE00 of cloth and wood stays below 1. */
const WEBP_QUALITY = 90;

/**
 * Replaces the images of a file one after another, so that one is unpacked in memory. Textures then have no PNG or JPEG to fall
 * back on, since that would cost more bytes than the form saves: the format is required, and the delivered model serves viewers
 * without it. An image that would not become smaller stays.
 */
export async function compressTextures(
  edit: ViewEdit,
  source: LoadedModel,
  form: TextureForm,
  kept: Kept[],
): Promise<TextureLoss[]> {
  const uses = listImageUses(source.json);
  const lost: TextureLoss[] = [];
  for (const index of source.json.images?.keys() ?? []) {
    const use = uses.get(index);
    if (!use) continue;
    const bytes = findImageBytes(source, index);
    const mimeType = bytes && sniffImage(bytes);
    if (!bytes || !mimeType || mimeType === 'image/ktx2' || isPaired(source.json, index)) {
      kept.push({ image: index, reason: mimeType ? 'compressed' : 'unreadable' });
      continue;
    }
    const pixels = await readPixels(bytes).catch(() => null);
    if (!pixels) kept.push({ image: index, reason: 'unreadable' });
    else if (form === 'ktx2' && pixels.widthPx * pixels.heightPx > KTX2_TEXELS)
      kept.push({ image: index, reason: 'too-large' });
    else {
      const made = form === 'webp' ? await toWebp(pixels, use) : await toKtx2(pixels, use);
      // KTX2 saves memory on the graphics card, also where the file does not become smaller
      if (form === 'webp' && made.bytes.length >= bytes.length) kept.push({ image: index, reason: 'not-smaller' });
      else {
        setImage(edit, index, made.bytes, form === 'webp' ? 'image/webp' : 'image/ktx2');
        lost.push(await describeLoss(source.json, index, { bytes, pixels }, made, use));
      }
    }
  }
  declareImageFormats(edit.json);
  return lost;
}

/** Textures that offer the image in two formats. */
function isPaired({ textures = [] }: GltfJson, image: number): boolean {
  return textures.some((texture) => {
    const sources = listSources(texture);
    return sources.length > 1 && sources.includes(image);
  });
}

interface Made {
  readonly bytes: Buffer;
  readonly pixels: Pixels;
}

export const kindOf = ({ normal, colour }: ImageUse): TextureLoss['use'] =>
  normal ? 'normal' : colour ? 'colour' : 'data';

/** Normals without loss, data with a loss of few codes and no subsampled chroma. */
async function toWebp(pixels: Pixels, use: ImageUse): Promise<Made> {
  const { data, widthPx, heightPx, channels } = pixels;
  const raw = sharp(data, { raw: { width: widthPx, height: heightPx, channels } });
  const image = channels === 4 && isOpaque(pixels) ? raw.removeAlpha() : raw;
  const kind = kindOf(use);
  const options =
    kind === 'normal'
      ? { lossless: true, exact: true }
      : kind === 'data'
        ? { nearLossless: true, quality: 60, exact: true }
        : { quality: WEBP_QUALITY, alphaQuality: 100, smartSubsample: true };
  const bytes = await image.webp(options).toBuffer();
  return { bytes, pixels: await readPixels(bytes) };
}

async function toKtx2(pixels: Pixels, use: ImageUse): Promise<Made> {
  const kind = kindOf(use);
  const bytes = await encodeKtx2(await toFourths(pixels), {
    mode: kind === 'colour' ? 'etc1s' : 'uastc',
    isColour: kind === 'colour',
  });
  return { bytes, pixels: await decodeKtx2(bytes) };
}

/** Blocks have four texels, and the extension wants whole ones. */
async function toFourths(pixels: Pixels): Promise<Pixels> {
  const { data, widthPx, heightPx, channels } = pixels;
  const [width, height] = [widthPx, heightPx].map((side) => Math.max(4, Math.round(side / 4) * 4)) as [number, number];
  if (width === widthPx && height === heightPx) return pixels;
  const resized = await sharp(data, { raw: { width: widthPx, height: heightPx, channels } })
    .resize(width, height, { fit: 'fill' })
    .raw()
    .toBuffer();
  return { data: resized, widthPx: width, heightPx: height, channels };
}

async function describeLoss(
  { images = [] }: GltfJson,
  image: number,
  before: Made,
  after: Made,
  use: ImageUse,
): Promise<TextureLoss> {
  const kind = kindOf(use);
  return {
    image,
    name: readName(images[image]!.name),
    use: kind,
    widthPx: after.pixels.widthPx,
    heightPx: after.pixels.heightPx,
    mimeType: sniffImage(after.bytes)!,
    bytesBefore: before.bytes.length,
    bytes: after.bytes.length,
    ...(await comparePixels(before.pixels, after.pixels, kind)),
  };
}

/** Gives an image other bytes, and its textures the extension of the format. */
export function setImage(edit: ViewEdit, index: number, bytes: Uint8Array, mimeType: ImageMimeType): void {
  const { json } = edit;
  const { uri: _, ...image } = json.images![index]!;
  const { bufferView } = image;
  const isOwn =
    bufferView !== undefined && json.images!.filter((other) => other.bufferView === bufferView).length === 1;
  if (isOwn) edit.replaceView(bufferView, bytes);
  json.images![index] = { ...image, mimeType, bufferView: isOwn ? bufferView : edit.addView(bytes) };
  for (const texture of json.textures ?? []) if (listSources(texture)[0] === index) setSource(texture, index, mimeType);
}

function setSource(texture: TextureJson, image: number, mimeType: ImageMimeType): void {
  const extensions = { ...texture.extensions };
  for (const name of Object.values(EXTENSIONS)) delete extensions[name];
  delete texture.source;
  delete texture.extensions;
  const name = EXTENSIONS[mimeType];
  if (name) extensions[name] = { source: image };
  else texture.source = image;
  if (Object.keys(extensions).length > 0) texture.extensions = extensions;
}
