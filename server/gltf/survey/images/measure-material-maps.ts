import { luminance } from '../../../core/colour/srgb.ts';
import { meanOf } from '../../../core/finish/level-map.ts';
import type { NeutralDetail, ReliefFacts, UvBounds, UvFrame } from '../../../core/product/survey.ts';
import { type Pixels, readPixels } from '../../../images/image-codec.ts';
import { countCodes } from '../../../images/measure-pixels.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { bestSource, readNeutralDetail, readTransform, texCoordOf } from '../../document/read-material.ts';
import { findImageBytes } from '../../document/stored-bytes.ts';
import { groupByMaterial, maskTexels, type TexelMask, weighTexels } from '../../geometry/mask-texels.ts';

/**
 * The neutral detail maps of a model's materials, measured over the texels that the triangles of each material show: parts
 * of one atlas may be darker or lighter than its whole. A map that cannot be read keeps the mean that is written beside it.
 */
export async function measureDetails(model: LoadedModel): Promise<Map<number, NeutralDetail>> {
  const details = new Map<number, NeutralDetail>();
  const users = groupByMaterial(model.json);
  // only one image is unpacked at a time
  let last: { readonly image: number; readonly pixels: Pixels | null } = { image: -1, pixels: null };
  for (const [index, material] of (model.json.materials ?? []).entries()) {
    const written = readNeutralDetail(material);
    if (!written) continue;
    const info = material.pbrMetallicRoughness!.baseColorTexture!;
    const image = bestSource(model.json.textures?.[info.index]);
    if (image !== null && last.image !== image) last = { image, pixels: await open(model, image) };
    const pixels = image === null ? null : last.pixels;
    if (!pixels) {
      details.set(index, { mean: written.mean, codes: null });
      continue;
    }
    const { alphaMode: mode = 'OPAQUE', alphaCutoff: cutoff = 0.5 } = material;
    const mask = maskTexels(model, users.get(index) ?? [], info, pixels);
    const codes = countCodes(pixels, weighTexels(pixels, { mask, alpha: { mode, cutoff } }));
    details.set(index, { mean: luminance(meanOf(codes)), codes });
  }
  return details;
}

/** @param sizePx longest side, in pixels; without it all texels are read */
async function open(model: LoadedModel, image: number, sizePx?: number): Promise<Pixels | null> {
  const bytes = findImageBytes(model, image);
  return bytes && readPixels(bytes, sizePx).catch(() => null);
}

/** Longest side in pixels that is measured; of larger maps, texels are picked evenly. */
const SIDE_PX = 1024;
/** Side of a patch on the surface in metres: several threads of a cloth, and no wider than a seam with its hems. */
const PATCH_M = 0.012;
/** Fewest texels along a patch, and most and fewest patches along the map. */
const PATCH_PX = 4;
const PATCHES = { most: 128, least: 6 } as const;
/** Share of a patch that triangles must cover for it to count. */
const COVERED = 0.5;
/** Fewest patches from which evenness can be judged. */
const ENOUGH = 12;
/** Share of the patches below the steep ones; a seam covers little of a part. */
const MOST = 0.98;
const DEGREES = 180 / Math.PI;

/** With the scale of the map, if it uses the UVs that finishes use; otherwise null. */
type MeasuredRelief = Omit<ReliefFacts, 'repeats'> & { readonly scale: readonly [number, number] | null };

/** Adds how often the map repeats over the part, from the bounds of its UVs. */
export function countRepeats({ scale, ...facts }: MeasuredRelief, bounds: UvBounds | null): ReliefFacts {
  if (!scale || !bounds) return { ...facts, repeats: null };
  const [across, down] = [0, 1].map((axis) => (bounds.max[axis]! - bounds.min[axis]!) * Math.abs(scale[axis]!));
  return { ...facts, repeats: Math.min(across!, down!) };
}

/**
 * Measures the normal maps of a model's materials over the texels that the triangles of each material show: how steep they are,
 * how much of that is form, and how evenly it is distributed. Patches of a weave are steep inside, alike, and level on
 * average. A seam, a fold or a rounded edge differs from other patches or tilts its own. Unreadable maps are left out.
 */
export async function measureReliefs(
  model: LoadedModel,
  frames: ReadonlyMap<number | null, { readonly frame: UvFrame }>,
): Promise<Map<number, MeasuredRelief>> {
  const reliefs = new Map<number, MeasuredRelief>();
  const users = groupByMaterial(model.json);
  const shown = (model.json.materials ?? []).flatMap(({ normalTexture: info }, index) => {
    const image = info ? bestSource(model.json.textures?.[info.index]) : null;
    return info && image !== null ? [{ index, info, image }] : [];
  });
  // only one image is unpacked at a time, and each once
  shown.sort((a, b) => a.image - b.image);
  let last: { readonly image: number; readonly pixels: Pixels | null } = { image: -1, pixels: null };
  for (const { index, info, image } of shown) {
    if (last.image !== image) last = { image, pixels: await open(model, image, SIDE_PX) };
    if (!last.pixels) continue;
    const mask = maskTexels(model, users.get(index) ?? [], info, last.pixels);
    const frame = frames.get(index)?.frame;
    const { scale: own = [1, 1] } = readTransform(info.extensions?.KHR_texture_transform ?? {});
    // the scale of the map is meaningful only for the measured UVs
    const scale = frame?.texCoord === texCoordOf(info) ? own : null;
    const side = scale && Math.sqrt(Math.abs((frame!.metresPerU * frame!.metresPerV) / (scale[0] * scale[1])));
    const strength = typeof info.scale === 'number' ? info.scale : 1;
    const facts = measureRelief(last.pixels, mask, side, strength);
    if (facts) reliefs.set(index, { ...facts, scale });
  }
  return reliefs;
}

/**
 * Measures the patches of one map: median and steepest slope, and strongest tilt, in degrees.
 * @param sideM side of the map on the surface in metres; null if unknown
 * @param strength factor by which the material multiplies slopes
 */
export function measureRelief(
  { data, widthPx, heightPx, channels }: Pixels,
  mask: TexelMask | null,
  sideM: number | null,
  strength: number,
): Omit<ReliefFacts, 'repeats'> | null {
  const wanted = sideM ? Math.round(sideM / PATCH_M) : PATCHES.most / 2;
  const fits = Math.floor(Math.min(widthPx, heightPx) / PATCH_PX);
  const count = Math.max(1, Math.min(Math.max(wanted, PATCHES.least), PATCHES.most, fits));
  const sums = new Float64Array(count * count * 4);
  const [downPx, acrossPx] = [heightPx / count, widthPx / count];
  for (let y = 0; y < heightPx; y++) {
    const row = Math.min(count - 1, Math.floor(y / downPx)) * count;
    const cellRow = mask && Math.floor(((y + 0.5) / heightPx) * mask.height) * mask.width;
    for (let x = 0; x < widthPx; x++) {
      if (mask && mask.cells[cellRow! + Math.floor(((x + 0.5) / widthPx) * mask.width)] === 0) continue;
      const at = (y * widthPx + x) * channels;
      const nx = ((data[at]! - 127.5) / 127.5) * strength;
      const ny = ((data[at + 1]! - 127.5) / 127.5) * strength;
      const sum = (row + Math.min(count - 1, Math.floor(x / acrossPx))) * 4;
      sums[sum]!++;
      sums[sum + 1]! += nx;
      sums[sum + 2]! += ny;
      sums[sum + 3]! += nx * nx + ny * ny;
    }
  }
  const full = acrossPx * downPx * COVERED;
  const patches: { readonly form: number; readonly steep: number }[] = [];
  for (let at = 0; at < sums.length; at += 4) {
    const texels = sums[at]!;
    if (texels < full) continue;
    const form = Math.hypot(sums[at + 1]!, sums[at + 2]!) / texels;
    patches.push({ form, steep: Math.sqrt(sums[at + 3]! / texels) });
  }
  if (patches.length < ENOUGH) return null;
  const steep = patches.map((patch) => patch.steep).sort((a, b) => a - b);
  const form = patches.map((patch) => patch.form).sort((a, b) => a - b);
  const at = (sorted: readonly number[], share: number) => sorted[Math.floor((sorted.length - 1) * share)]! * DEGREES;
  return { middleDegrees: at(steep, 0.5), steepDegrees: at(steep, MOST), formDegrees: at(form, MOST) };
}
