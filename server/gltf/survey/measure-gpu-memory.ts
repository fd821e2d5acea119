import type { Survey, SurveyedImage } from '../../core/product/survey.ts';
import { accessorBytes } from '../document/byte-ranges.ts';
import type { Reachable } from '../document/find-reachable.ts';
import type { GltfJson } from '../document/json.ts';
import { bestSource } from '../document/texture-uses.ts';
import { CAUSES, listAccessorCauses } from './measure-weight.ts';

/** Estimates what a model takes on a graphics card, in bytes. */
export function measureGpuMemory(
  json: GltfJson,
  reachable: Reachable,
  images: readonly SurveyedImage[],
): Survey['gpu'] {
  return { geometry: measureGeometry(json, reachable), textures: measureTextures(json, reachable, images) };
}

/** Animations and skins are read by the processor; all other accessors go to the graphics card. */
const ON_CARD = (cause: string) => cause !== CAUSES.animations && cause !== CAUSES.skins;

/** Vertex and index buffers: each view once, unpacked. */
function measureGeometry(json: GltfJson, reachable: Reachable): number {
  const views = new Set<number>();
  let bytes = 0;
  for (const [index, cause] of listAccessorCauses(json, reachable)) {
    if (!ON_CARD(cause)) continue;
    const { bufferView } = json.accessors![index]!;
    // an accessor without a view is unpacked by Draco or all zeros: both are made in memory
    if (bufferView === undefined) bytes += accessorBytes(json, index);
    else views.add(bufferView);
  }
  for (const view of views) bytes += json.bufferViews?.[view]?.byteLength ?? 0;
  return bytes;
}

/** Mip levels add a third: 1 + 1/4 + 1/16 + … */
const MIPS = 4 / 3;
/** RGBA of eight bits; KTX2 is unpacked to block formats of a byte a texel (BC7, ASTC 4 × 4). */
const TEXEL_BYTES = { plain: 4, ktx2: 1 } as const;

/** Each image that a texture shows, once. Of several sources, a reader that knows every extension takes the last. */
function measureTextures(json: GltfJson, { textures }: Reachable, images: readonly SurveyedImage[]): number {
  const shown = new Set([...textures].map((texture) => bestSource(json.textures?.[texture])));
  let bytes = 0;
  for (const index of shown) {
    const { widthPx = 0, heightPx = 0, mimeType = null } = images[index ?? -1] ?? {};
    const texel = mimeType === 'image/ktx2' ? TEXEL_BYTES.ktx2 : TEXEL_BYTES.plain;
    bytes += (widthPx ?? 0) * (heightPx ?? 0) * texel * MIPS;
  }
  return Math.round(bytes);
}
