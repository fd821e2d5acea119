import sharp from 'sharp';
import { LINEAR_CODES, type LinearRgb, luminance, toCode } from '../../../core/colour/srgb.ts';
import { type Pixels, readPixels } from '../../../images/image-codec.ts';
import { declareImageFormats } from '../../document/extensions.ts';
import type { MaterialJson } from '../../document/json.ts';
import { bestSource, readFactors, readNeutralDetail } from '../../document/read-material.ts';
import { digestImage, findImageBytes } from '../../document/stored-bytes.ts';
import { maskTexels, type TexelUse, weighTexels } from '../../geometry/mask-texels.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { joinNames, listMaterialNames, pickMaterials, sayMissing } from '../edit/pick-materials.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

/**
 * Turns colour maps into neutral detail: the pattern stays, the hue goes, the lightest texel is white, and the material's
 * factor takes its mean colour, so that the part looks from afar as it did. `extras.neutralDetail.mean` says by what a
 * finish's colour is divided, 0–1 in linear light: the mean of the map that was written, as far as the material shows it.
 * Materials that show the same of one image go on sharing one. The image stays for what else uses it.
 */
export const neutralDetail: Repairer<'neutral-detail'> = {
  async apply(edit, { materials: references }) {
    const all = [...(edit.json.materials ?? []).keys()];
    const { materials, missing } = references ? pickMaterials(edit, references) : { materials: all, missing: [] };
    if (references && materials.length === 0) return unfit(sayMissing(edit, missing).trim() || 'No material is named.');
    const open = materials.filter((index) => isOpen(edit.json.materials![index]!));
    if (open.length === 0) {
      const who = references ? listMaterialNames(edit, materials) : 'The model’s materials';
      return nothingToDo(`${who}: no colour map that is not neutral detail already.${sayMissing(edit, missing)}`);
    }
    const { planned, unread, black } = await planImages(edit, open);
    const left = sayUnread(edit, unread) + sayBlack(edit, black);
    if (planned.length === 0) return unfit(`No colour map could be made neutral detail.${left}`);
    const clipped = planned.flatMap((plan) => writeImage(edit, plan));
    declareImageFormats(edit.json);
    return report(edit, planned, clipped, left + sayMissing(edit, missing));
  },
};

function isOpen(material: MaterialJson): boolean {
  return material.pbrMetallicRoughness?.baseColorTexture !== undefined && readNeutralDetail(material) === null;
}

interface ImagePlan {
  readonly image: number;
  readonly materials: readonly number[];
  readonly neutral: Neutral;
  readonly png: Buffer;
  readonly bytesBefore: number;
}

const textureOf = ({ json }: ModelEdit, material: number) =>
  json.materials![material]!.pbrMetallicRoughness!.baseColorTexture!;

/** Makes the new images and changes nothing yet, so that what cannot be read leaves the model as it was. */
async function planImages(edit: ModelEdit, materials: readonly number[]) {
  const byImage = new Map<number | null, number[]>();
  for (const index of materials) {
    const image = bestSource(edit.json.textures?.[textureOf(edit, index).index]);
    byImage.set(image, [...(byImage.get(image) ?? []), index]);
  }
  const model = await edit.decode();
  const planned: ImagePlan[] = [];
  const unread: number[] = [];
  const black: number[] = [];
  for (const [image, own] of byImage) {
    const bytes = image === null ? null : findImageBytes(model, image);
    const pixels = bytes && (await readPixels(bytes).catch(() => null));
    if (image === null || !bytes || !pixels) {
      unread.push(...own);
      continue;
    }
    const wearings = own.map((index) => {
      const { alphaMode: mode = 'OPAQUE', alphaCutoff: cutoff = 0.5 } = edit.json.materials![index]!;
      return { mask: maskTexels(model, index, textureOf(edit, index), pixels), alpha: { mode, cutoff } };
    });
    // each by the largest it shows itself: on an atlas the pale wood would else leave the black feet black. Materials that
    // come to the same map share it
    const byDigest = new Map<string, ImagePlan>();
    for (const [i, material] of own.entries()) {
      const neutral = neutralise(pixels, [wearings[i]!]);
      // what shows nothing but black has no mean to divide by
      if (!(neutral.wearers[0]!.mean > 0) || isBlack(neutral.wearers[0]!.colour)) {
        black.push(material);
        continue;
      }
      const digest = digestImage(neutral.data);
      const known = byDigest.get(digest);
      byDigest.set(digest, {
        image,
        materials: [...(known?.materials ?? []), material],
        neutral: { ...neutral, wearers: [...(known?.neutral.wearers ?? []), ...neutral.wearers] },
        png: known?.png ?? (await encode(neutral, pixels)),
        bytesBefore: bytes.length,
      });
    }
    planned.push(...byDigest.values());
  }
  return { planned, unread, black };
}

const isBlack = (colour: readonly number[]) => colour.every((value) => value === 0);

async function encode({ data, channels }: Neutral, { widthPx, heightPx }: Pixels): Promise<Buffer> {
  const raw = { width: widthPx, height: heightPx, channels };
  return sharp(data, { raw }).toColourspace('b-w').png({ compressionLevel: 9 }).toBuffer();
}

/** Puts the new image under the materials; returns those whose mean colour its factor could not hold. */
function writeImage(edit: ModelEdit, { image, materials, neutral, png }: ImagePlan): number[] {
  const { json } = edit;
  const { name } = json.images![image]!;
  const source = edit.addImage(png, 'image/png', typeof name === 'string' ? name : undefined);
  const textures = new Map<number, number>();
  const clipped: number[] = [];
  materials.forEach((index, i) => {
    const material = json.materials![index]!;
    const pbr = material.pbrMetallicRoughness!;
    const before = pbr.baseColorTexture!;
    let texture = textures.get(before.index);
    if (texture === undefined) {
      const { extensions: _, ...rest } = json.textures![before.index]!;
      texture = json.textures!.push({ ...rest, source }) - 1;
      textures.set(before.index, texture);
    }
    const { mean, colour } = neutral.wearers[i]!;
    const [r, g, b, a] = readFactors({ pbrMetallicRoughness: pbr }).baseColor;
    const factor = [r * colour[0], g * colour[1], b * colour[2]].map((value) => value / mean);
    // rounding of the map's codes is no loss
    if (factor.some((value) => value > 1.005)) clipped.push(index);
    pbr.baseColorFactor = [...factor.map((value) => Math.min(1, Number(value.toPrecision(8)))), a];
    pbr.baseColorTexture = { ...before, index: texture };
    material.extras = { ...keepExtras(material.extras), neutralDetail: { mean } };
  });
  return clipped;
}

/** Extras are an object by custom; what else somebody put there is kept under a name. */
function keepExtras(extras: unknown): object {
  if (extras === undefined || extras === null) return {};
  return typeof extras === 'object' && !Array.isArray(extras) ? extras : { extras };
}

function sayUnread(edit: ModelEdit, unread: readonly number[]): string {
  if (unread.length === 0) return '';
  return ` The colour map of ${listMaterialNames(edit, unread)} cannot be read here and stays; export it as PNG or JPEG.`;
}

function sayBlack(edit: ModelEdit, black: readonly number[]): string {
  if (black.length === 0) return '';
  return ` ${listMaterialNames(edit, black)} shows only black from its colour map, and stays as it is.`;
}

function report(edit: ModelEdit, planned: readonly ImagePlan[], clipped: readonly number[], more: string) {
  const materials = planned.flatMap((plan) => plan.materials).sort((a, b) => a - b);
  const means = planned.flatMap(({ neutral }) => neutral.wearers.map(({ mean }) => mean.toFixed(3)));
  const bytesBefore = planned.reduce((sum, plan) => sum + plan.bytesBefore, 0);
  const bytesAfter = planned.reduce((sum, { png }) => sum + png.length, 0);
  const [images, they] =
    planned.length === 1 ? ['1 colour map is', 'its'] : [`${planned.length} colour maps are`, 'their'];
  const cut =
    clipped.length > 0
      ? ` The mean colour of ${listMaterialNames(edit, clipped)} is too light or too vivid for a neutral map, and was brought nearer.`
      : '';
  return done(
    `${images} neutral detail now, on ${listMaterialNames(edit, materials)}: the pattern is kept, ${they} linear mean is ` +
      `${joinNames([...new Set(means)])}, ${kB(bytesBefore)} became ${kB(bytesAfter)}.${cut}${more}`,
    {
      images: planned.length,
      materials: materials.length,
      mean: [...new Set(means)].join(', '),
      bytesBefore,
      bytesAfter,
    },
  );
}

const kB = (bytes: number) => `${(bytes / 1000).toFixed(1)} kB`;

export interface Neutral {
  /** Grey, or grey and alpha where the map has one: 8-bit codes whose grey is sRGB. */
  readonly data: Buffer;
  readonly channels: 1 | 2;
  readonly wearers: readonly {
    /** Linear mean of the grey that was written, over what the material shows. */
    readonly mean: number;
    /** Linear mean of the map as it was, over the same. */
    readonly colour: LinearRgb;
  }[];
}

/**
 * Drops the hue of a colour map: its luminance (BT.709, in linear light), divided by the largest that is seen, so that the
 * lightest texel is white and as much as can be is left for a finish's colour to fill.
 *
 * The largest itself and not a percentile, which would flatten the lights of a pattern; but of what is seen only: paint
 * between the islands of an atlas, or behind holes, would else darken the whole. What is not seen is cut at white.
 */
export function neutralise(pixels: Pixels, wearings: readonly TexelUse[]): Neutral {
  const { data, channels } = pixels;
  const texels = pixels.widthPx * pixels.heightPx;
  const weights = wearings.map((wearing) => weighTexels(pixels, wearing));
  const seen = weights.includes(null) ? null : (weights as Uint8Array[]);
  const lights = new Float32Array(texels);
  let largest = 0;
  for (let texel = 0; texel < texels; texel++) {
    const light = luminanceOf(data, texel * channels);
    lights[texel] = light;
    if (light > largest && (seen === null || seen.some((weight) => weight[texel]! > 0))) largest = light;
  }
  const step = channels === 4 ? 2 : 1;
  const out = Buffer.alloc(texels * step);
  for (let texel = 0; texel < texels; texel++) {
    // a map that is black all over has no pattern, and becomes white
    const light = largest > 0 ? lights[texel]! / largest : 1;
    out[texel * step] = toCode(light);
    if (step === 2) out[texel * step + 1] = data[texel * channels + 3]!;
  }
  const wearers = weights.map((weight) => {
    let [sum, grey, red, green, blue] = [0, 0, 0, 0, 0];
    for (let texel = 0, at = 0; texel < texels; texel++, at += channels) {
      const share = weight === null ? 255 : weight[texel]!;
      if (share === 0) continue;
      sum += share;
      grey += share * LINEAR_CODES[out[texel * step]!]!;
      red += share * LINEAR_CODES[data[at]!]!;
      green += share * LINEAR_CODES[data[at + 1]!]!;
      blue += share * LINEAR_CODES[data[at + 2]!]!;
    }
    const colour: LinearRgb = [red / sum, green / sum, blue / sum];
    return { mean: grey / sum, colour };
  });
  return { data: out, channels: step, wearers };
}

const [RED, GREEN, BLUE] = [luminance([1, 0, 0]), luminance([0, 1, 0]), luminance([0, 0, 1])];

function luminanceOf(data: Buffer, at: number): number {
  return RED * LINEAR_CODES[data[at]!]! + GREEN * LINEAR_CODES[data[at + 1]!]! + BLUE * LINEAR_CODES[data[at + 2]!]!;
}
