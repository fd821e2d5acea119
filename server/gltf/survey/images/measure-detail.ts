import { luminance } from '../../../core/colour/srgb.ts';
import { meanOf } from '../../../core/finish/level-map.ts';
import type { NeutralDetail } from '../../../core/product/survey.ts';
import { countCodes } from '../../../images/measure-pixels.ts';
import { type Pixels, readPixels } from '../../../images/read-pixels.ts';
import { findImageBytes } from '../../document/image-bytes.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { readNeutralDetail } from '../../document/read-factors.ts';
import { bestSource } from '../../document/texture-uses.ts';
import { maskTexels, weighTexels } from '../../geometry/mask-texels.ts';

/**
 * The neutral detail maps of a model's materials, measured over the texels that the triangles of each material show: parts
 * of one atlas may be darker or lighter than its whole. A map that cannot be read keeps the mean that is written beside it.
 */
export async function measureDetails(model: LoadedModel): Promise<Map<number, NeutralDetail>> {
  const details = new Map<number, NeutralDetail>();
  // one image is unpacked at a time
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
    const mask = maskTexels(model, index, info, pixels);
    const codes = countCodes(pixels, weighTexels(pixels, { mask, alpha: { mode, cutoff } }));
    details.set(index, { mean: luminance(meanOf(codes)), codes });
  }
  return details;
}

async function open(model: LoadedModel, image: number): Promise<Pixels | null> {
  const bytes = findImageBytes(model, image);
  return bytes && readPixels(bytes).catch(() => null);
}
