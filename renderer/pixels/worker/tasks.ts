import type { RawLayer, RawPicture } from '../../../server/core/ports/renderer.ts';
import type { Composed } from '../../layers/compose-layers.ts';
import type { Frame, Layer } from '../../layers/layer.ts';

/** The tasks of a pixel thread. Pixels and layers of a task move to the thread, so the caller loses them. */
export type PixelTask =
  | { readonly kind: 'pack'; readonly raw: RawLayer }
  | { readonly kind: 'unpack'; readonly bytes: Uint8Array }
  | {
      readonly kind: 'compose';
      readonly frame: Frame;
      readonly layers: readonly Layer[];
      readonly ground: readonly [number, number, number] | null;
      /** Row of the picture at which the frame begins. */
      readonly firstRow: number;
    }
  | { readonly kind: 'png'; readonly raw: RawPicture };

export interface PixelTaskResults {
  pack: { readonly layer: Layer; readonly bytes: Uint8Array };
  unpack: Layer | null;
  compose: Composed;
  png: Uint8Array;
}

/** The buffers that are transferred with a task or its result. */
export function listOwned(of: PixelTask | PixelTaskResults[keyof PixelTaskResults]): ArrayBuffer[] {
  if (of === null) return [];
  if (of instanceof Uint8Array) return listWhole(of);
  if ('whole' in of) return [memoryOf(of)];
  if ('rgba' in of) return listWhole(of.rgba);
  if ('layer' in of) return [memoryOf(of.layer), ...listWhole(of.bytes)];
  switch (of.kind) {
    case 'pack':
      return listWhole(of.raw.bytes);
    case 'compose':
      return of.layers.map(memoryOf);
    case 'png':
      return listWhole(of.raw.rgba);
    case 'unpack':
      return [];
  }
}

const memoryOf = ({ whole }: Layer) => whole.buffer as ArrayBuffer;

/** A part of a larger buffer is copied instead. */
function listWhole({ buffer, byteLength }: Uint8Array): ArrayBuffer[] {
  return buffer instanceof ArrayBuffer && byteLength === buffer.byteLength ? [buffer] : [];
}
