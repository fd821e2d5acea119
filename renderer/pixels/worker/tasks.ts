import type { RawLayer, RawPicture } from '../../../server/core/ports/renderer.ts';
import type { Composed } from '../../layers/compose-layers.ts';
import type { Frame, Layer } from '../../layers/layer.ts';

/** What a thread for pixels can be asked to do. Pixels and layers lie in shared memory, and are not copied. */
export type PixelTask =
  | { readonly kind: 'pack'; readonly raw: RawLayer }
  | { readonly kind: 'unpack'; readonly bytes: Uint8Array }
  | {
      readonly kind: 'compose';
      readonly frame: Frame;
      readonly layers: readonly Layer[];
      readonly ground: readonly [number, number, number] | null;
    }
  | { readonly kind: 'png'; readonly raw: RawPicture };

export interface PixelTaskResults {
  pack: { readonly layer: Layer; readonly bytes: Uint8Array };
  unpack: Layer | null;
  compose: Composed;
  png: Uint8Array;
}

export interface PixelAnswer {
  readonly id: number;
  readonly result?: PixelTaskResults[keyof PixelTaskResults];
  readonly fault?: string;
}
