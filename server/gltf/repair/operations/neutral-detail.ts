import sharp from 'sharp';
import { LINEAR_CODES, type LinearRgb, luminance, toCode } from '../../../core/colour/srgb.ts';
import { describeNoMaterials, REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import { type Pixels, readPixels } from '../../../images/image-codec.ts';
import { declareImageFormats } from '../../document/extensions.ts';
import type { MaterialJson } from '../../document/json.ts';
import { bestSource, readFactors, readNeutralDetail } from '../../document/read-material.ts';
import { digestImage, findImageBytes } from '../../document/stored-bytes.ts';
import { groupByMaterial, maskTexels, type TexelUse, weighTexels } from '../../geometry/mask-texels.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['neutral-detail'];

/**
 * Converts colour maps to neutral detail: the pattern stays, the hue goes, and the lightest texel becomes white. The
 * material's factor takes over the mean colour of the map, so that the part looks the same from a distance.
 * `extras.neutralDetail.mean` states the mean of the new map over the texels that the material shows, 0–1 in linear light; a
 * finish's colour is divided by it. Materials that show the same texels of one image share the new map. The old image stays
 * for its other users.
 */
export const neutralDetail: Repairer<'neutral-detail'> = {
  async apply(edit, { materials: references }) {
    const all = [...(edit.json.materials ?? []).keys()];
    const { materials, missing } = references ? edit.pickMaterials(references) : { materials: all, missing: [] };
    if (references && materials.length === 0) return unfit(describeNoMaterials(missing, edit.labelMaterials()));
    const note = REPAIR_NOTES.missing(missing, edit.labelMaterials());
    const open = materials.filter((index) => isOpen(edit.json.materials![index]!));
    if (open.length === 0) {
      return nothingToDo(OUTCOMES.nothing(references ? edit.labelMaterials(materials) : null) + note);
    }
    const { planned, unread, black } = await planImages(edit, open);
    const left = OUTCOMES.unreadable(edit.labelMaterials(unread)) + OUTCOMES.black(edit.labelMaterials(black));
    if (planned.length === 0) return unfit(OUTCOMES.unfit + left);
    const clipped = planned.flatMap((plan) => writeImage(edit, plan));
    declareImageFormats(edit.json);
    return report(edit, planned, OUTCOMES.clipped(edit.labelMaterials(clipped)) + left + note);
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

/** Makes the new images without changing the model, which stays as it is if none can be read. */
async function planImages(edit: ModelEdit, materials: readonly number[]) {
  const byImage = new Map<number | null, number[]>();
  for (const index of materials) {
    const image = bestSource(edit.json.textures?.[textureOf(edit, index).index]);
    byImage.set(image, [...(byImage.get(image) ?? []), index]);
  }
  const model = await edit.decode();
  const users = groupByMaterial(model.json);
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
    const uses = own.map((index) => {
      const { alphaMode: mode = 'OPAQUE', alphaCutoff: cutoff = 0.5 } = edit.json.materials![index]!;
      return {
        mask: maskTexels(model, users.get(index) ?? [], textureOf(edit, index), pixels),
        alpha: { mode, cutoff },
      };
    });
    // each material by the lightest texel that it shows: on an atlas, black feet beside pale wood would stay black otherwise.
    // Materials with the same result share the map
    const byDigest = new Map<string, ImagePlan>();
    for (const [i, material] of own.entries()) {
      const neutral = neutralise(pixels, [uses[i]!]);
      // a material that shows only black has no mean to divide by
      if (!(neutral.users[0]!.mean > 0) || isBlack(neutral.users[0]!.colour)) {
        black.push(material);
        continue;
      }
      const digest = digestImage(neutral.data);
      const known = byDigest.get(digest);
      byDigest.set(digest, {
        image,
        materials: [...(known?.materials ?? []), material],
        neutral: { ...neutral, users: [...(known?.neutral.users ?? []), ...neutral.users] },
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

/** Gives the materials the new image. Returns those whose mean colour exceeds what a factor can hold. */
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
    const { mean, colour } = neutral.users[i]!;
    const [r, g, b, a] = readFactors({ pbrMetallicRoughness: pbr }).baseColor;
    const factor = [r * colour[0], g * colour[1], b * colour[2]].map((value) => value / mean);
    // codes of 8 bits are rounded
    if (factor.some((value) => value > 1.005)) clipped.push(index);
    pbr.baseColorFactor = [...factor.map((value) => Math.min(1, Number(value.toPrecision(8)))), a];
    pbr.baseColorTexture = { ...before, index: texture };
    material.extras = { ...keepExtras(material.extras), neutralDetail: { mean } };
  });
  return clipped;
}

/** Extras are usually an object. Any other value is kept as a property of one. */
function keepExtras(extras: unknown): object {
  if (extras === undefined || extras === null) return {};
  return typeof extras === 'object' && !Array.isArray(extras) ? extras : { extras };
}

function report(edit: ModelEdit, planned: readonly ImagePlan[], more: string) {
  const materials = planned.flatMap((plan) => plan.materials).sort((a, b) => a - b);
  const means = new Set(planned.flatMap(({ neutral }) => neutral.users.map(({ mean }) => mean.toFixed(3))));
  const sizes = {
    images: planned.length,
    bytesBefore: planned.reduce((sum, plan) => sum + plan.bytesBefore, 0),
    bytesAfter: planned.reduce((sum, { png }) => sum + png.length, 0),
  };
  return done(OUTCOMES.done({ ...sizes, materials: edit.labelMaterials(materials), means: [...means] }) + more, {
    images: sizes.images,
    materials: materials.length,
    mean: [...means].join(', '),
    bytesBefore: sizes.bytesBefore,
    bytesAfter: sizes.bytesAfter,
  });
}

interface Neutral {
  /** Grey, or grey and alpha where the map has one: 8-bit codes whose grey is sRGB. */
  readonly data: Buffer;
  readonly channels: 1 | 2;
  readonly users: readonly {
    /** Linear mean of the new grey over the texels that the material shows, 0–1. */
    readonly mean: number;
    /** Linear mean of the old map over the same texels. */
    readonly colour: LinearRgb;
  }[];
}

/**
 * Removes the hue of a colour map: its luminance (BT.709, in linear light) is divided by the largest that is visible. The
 * lightest texel becomes white, which leaves the most room for a finish's colour.
 *
 * A percentile instead of the largest would flatten the highlights of a pattern. Only visible texels count: paint between
 * the islands of an atlas, or behind holes, would darken the whole otherwise. Invisible texels are clipped at white.
 */
function neutralise(pixels: Pixels, uses: readonly TexelUse[]): Neutral {
  const { data, channels } = pixels;
  const texels = pixels.widthPx * pixels.heightPx;
  const weights = uses.map((use) => weighTexels(pixels, use));
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
    // a black map has no pattern and becomes white
    const light = largest > 0 ? lights[texel]! / largest : 1;
    out[texel * step] = toCode(light);
    if (step === 2) out[texel * step + 1] = data[texel * channels + 3]!;
  }
  const users = weights.map((weight) => {
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
  return { data: out, channels: step, users };
}

const [RED, GREEN, BLUE] = [luminance([1, 0, 0]), luminance([0, 1, 0]), luminance([0, 0, 1])];

function luminanceOf(data: Buffer, at: number): number {
  return RED * LINEAR_CODES[data[at]!]! + GREEN * LINEAR_CODES[data[at + 1]!]! + BLUE * LINEAR_CODES[data[at + 2]!]!;
}
