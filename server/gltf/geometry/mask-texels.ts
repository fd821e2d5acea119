import type { Pixels } from '../../images/image-codec.ts';
import type { GltfJson, PrimitiveJson, TextureInfoJson } from '../document/json.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { compileTransform, listMaterialsOf, type TransformUv, texCoordOf } from '../document/read-material.ts';
import { listTriangles } from './list-triangles.ts';

/** Most cells along a side. A tile of a usual atlas still has hundreds of cells. */
const SIDE_LIMIT = 1024;
/** A triangle over more repeats than this shows all of its map. */
const REPEAT_LIMIT = 4;

/** The part of a map that triangles show: cells, row by row from the top, 1 where a triangle covers the cell. */
export interface TexelMask {
  readonly width: number;
  readonly height: number;
  readonly cells: Uint8Array;
}

/**
 * Marks the part of a map that the triangles of a material show; all repeats mark the same cells.
 * Null when they show all of it, and where UVs are missing or cannot be read.
 * @param users the primitives of the material, see `groupByMaterial`
 */
export function maskTexels(
  model: LoadedModel,
  users: readonly PrimitiveJson[],
  info: TextureInfoJson,
  size: { readonly widthPx: number; readonly heightPx: number },
): TexelMask | null {
  const transform = info.extensions?.KHR_texture_transform;
  const toImage = compileTransform(transform);
  const width = Math.min(SIDE_LIMIT, size.widthPx);
  const height = Math.min(SIDE_LIMIT, size.heightPx);
  const mask: TexelMask = { width, height, cells: new Uint8Array(width * height) };
  let any = false;
  for (const primitive of users) {
    const accessor = primitive.attributes[`TEXCOORD_${texCoordOf(info)}`];
    const uvs = accessor === undefined ? null : readAccessor(model, accessor);
    const corners = listTriangles(model, primitive);
    if (!uvs || !corners) return null;
    const points = toCells(uvs, toImage, mask);
    for (let i = 0; i + 2 < corners.length; i += 3) {
      any = true;
      if (!markTriangle(mask, points, corners[i]! * 2, corners[i + 1]! * 2, corners[i + 2]! * 2)) return null;
    }
  }
  return any ? mask : null;
}

/** The primitives that show each material, in any variant. */
export function groupByMaterial({ meshes = [] }: GltfJson): Map<number, PrimitiveJson[]> {
  const users = new Map<number, PrimitiveJson[]>();
  for (const { primitives } of meshes) {
    for (const primitive of primitives) {
      for (const material of listMaterialsOf([primitive])) {
        const group = users.get(material);
        if (group) group.push(primitive);
        else users.set(material, [primitive]);
      }
    }
  }
  return users;
}

/** UVs as cells. */
function toCells(uvs: Float32Array, toImage: TransformUv, { width, height }: TexelMask) {
  const points = new Float32Array(uvs.length);
  for (let i = 0; i + 1 < uvs.length; i += 2) {
    const [u, v] = toImage(uvs[i]!, uvs[i + 1]!);
    points[i] = u * width;
    points[i + 1] = v * height;
  }
  return points;
}

/** Marks cells whose middle a triangle covers, or else the cell of its centre. False when it covers the whole map. */
function markTriangle({ width, height, cells }: TexelMask, p: Float32Array, a: number, b: number, c: number): boolean {
  const ys = [p[a + 1]!, p[b + 1]!, p[c + 1]!];
  const xs = [p[a]!, p[b]!, p[c]!];
  const top = Math.min(...ys);
  const bottom = Math.max(...ys);
  const across = Math.max(...xs) - Math.min(...xs);
  if (!(across <= width * REPEAT_LIMIT && bottom - top <= height * REPEAT_LIMIT)) return false;
  let marked = false;
  for (let row = Math.ceil(top - 0.5); row + 0.5 <= bottom; row++) {
    let left = Number.POSITIVE_INFINITY;
    let right = Number.NEGATIVE_INFINITY;
    for (let corner = 0; corner < 3; corner++) {
      const next = (corner + 1) % 3;
      const [y0, y1] = [ys[corner]!, ys[next]!];
      const at = row + 0.5;
      if (Math.min(y0, y1) > at || Math.max(y0, y1) < at || y0 === y1) continue;
      const x = xs[corner]! + ((at - y0) / (y1 - y0)) * (xs[next]! - xs[corner]!);
      left = Math.min(left, x);
      right = Math.max(right, x);
    }
    const start = wrap(row, height) * width;
    for (let column = Math.ceil(left - 0.5); column + 0.5 <= right; column++) {
      cells[start + wrap(column, width)] = 1;
      marked = true;
    }
  }
  if (!marked) {
    const x = Math.floor((xs[0]! + xs[1]! + xs[2]!) / 3);
    const y = Math.floor((ys[0]! + ys[1]! + ys[2]!) / 3);
    cells[wrap(y, height) * width + wrap(x, width)] = 1;
  }
  return true;
}

function wrap(value: number, size: number): number {
  const rest = value % size;
  return rest < 0 ? rest + size : rest;
}

/** How a material shows a colour map. */
export interface TexelUse {
  /** The part of the map that its triangles show; null for all of it. */
  readonly mask: TexelMask | null;
  readonly alpha: { readonly mode: 'OPAQUE' | 'MASK' | 'BLEND'; readonly cutoff: number };
}

/** The weight of each texel for a material, 0–255; null where all count the same, and where none would count. */
export function weighTexels(
  { data, channels, widthPx, heightPx }: Pixels,
  { mask, alpha }: TexelUse,
): Uint8Array | null {
  const byAlpha = channels === 4 && alpha.mode !== 'OPAQUE';
  if (!mask && !byAlpha) return null;
  const weights = new Uint8Array(widthPx * heightPx);
  const cutoff = alpha.cutoff * 255;
  let any = false;
  for (let y = 0, texel = 0; y < heightPx; y++) {
    const row = mask ? Math.floor((y * mask.height) / heightPx) * mask.width : 0;
    for (let x = 0; x < widthPx; x++, texel++) {
      if (mask && mask.cells[row + Math.floor((x * mask.width) / widthPx)] === 0) continue;
      const code = byAlpha ? data[texel * 4 + 3]! : 255;
      const weight = alpha.mode === 'MASK' ? (code >= cutoff ? 255 : 0) : code;
      weights[texel] = weight;
      any ||= weight > 0;
    }
  }
  return any ? weights : null;
}
