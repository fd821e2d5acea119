import type { TextureTransform } from '../../core/delivery/uv-map.ts';
import type { TextureInfoJson } from './json.ts';

/** Takes UVs of the mesh to UVs of the image. */
export type TransformUv = (u: number, v: number) => readonly [number, number];

/** Number of the UV set that a texture uses: `texCoord` of its `KHR_texture_transform` comes before its own. */
export function texCoordOf(info: TextureInfoJson): number {
  const own = info.extensions?.KHR_texture_transform?.texCoord;
  return typeof own === 'number' ? own : (info.texCoord ?? 0);
}

/** The values of a `KHR_texture_transform` object. Values of the wrong type are ignored, as viewers ignore them. */
export function readTransform({ offset, rotation, scale }: Record<string, unknown>): TextureTransform {
  const isPair = (value: unknown): value is [number, number] =>
    Array.isArray(value) && value.length === 2 && value.every(Number.isFinite);
  return {
    ...(isPair(offset) && { offset }),
    ...(typeof rotation === 'number' && { rotation }),
    ...(isPair(scale) && { scale }),
  };
}

/**
 * The transform as a function. It multiplies offset × rotation × scale, in this order, as the text of the extension says.
 * @param extension the object `KHR_texture_transform`; undefined leaves UVs as they are
 */
export function compileTransform(extension: Record<string, unknown> | undefined): TransformUv {
  if (!extension) return (u, v) => [u, v];
  const [ox = 0, oy = 0] = (extension.offset as number[] | undefined) ?? [];
  const [sx = 1, sy = 1] = (extension.scale as number[] | undefined) ?? [];
  const rotation = typeof extension.rotation === 'number' ? extension.rotation : 0;
  const cos = Math.cos(rotation);
  const sin = Math.sin(rotation);
  return (u, v) => [cos * u * sx + sin * v * sy + ox, -sin * u * sx + cos * v * sy + oy];
}
