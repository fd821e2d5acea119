import type { TextureTransform } from '../../core/delivery/uv-map.ts';

/** What a file says of a transform; what is no number there is passed over, as viewers do. */
export function readTransform({ offset, rotation, scale }: Record<string, unknown>): TextureTransform {
  const isPair = (value: unknown): value is [number, number] =>
    Array.isArray(value) && value.length === 2 && value.every(Number.isFinite);
  return {
    ...(isPair(offset) && { offset }),
    ...(typeof rotation === 'number' && { rotation }),
    ...(isPair(scale) && { scale }),
  };
}
