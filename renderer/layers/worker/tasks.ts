import type { RawLayer } from '../../../server/core/ports/renderer.ts';
import type { Composed } from '../compose-layers.ts';
import type { Frame, Layer } from '../layer.ts';

/** What the thread of layers can be asked to do. */
export type LayerTask =
  | { readonly kind: 'pack'; readonly raw: RawLayer }
  | { readonly kind: 'unpack'; readonly bytes: Uint8Array }
  | {
      readonly kind: 'compose';
      readonly frame: Frame;
      readonly layers: readonly Layer[];
      readonly ground: readonly [number, number, number] | null;
    };

export interface LayerTaskResults {
  pack: { readonly layer: Layer; readonly bytes: Uint8Array };
  unpack: Layer | null;
  compose: Composed;
}

export interface LayerAnswer {
  readonly id: number;
  readonly result?: LayerTaskResults[keyof LayerTaskResults];
  readonly fault?: string;
}
