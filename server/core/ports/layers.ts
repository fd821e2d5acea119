import type { LayerMaker, RawLayer, RawPicture } from './renderer.ts';

/** A layer by the key of all that determines it, and how it is taken when it is not there. */
export interface LayerSource {
  readonly key: string;
  take(): Promise<RawLayer>;
}

export interface Composition {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly layers: readonly LayerSource[];
  /** sRGB levels of an even ground; null leaves it see-through. */
  readonly ground: readonly [number, number, number] | null;
  /** Layers that may be taken for it. */
  readonly takeAtMost: number;
}

/**
 * Keeps layers and sums them.
 * An implementation takes a layer once however many ask for it at the same time, takes one that cannot be read anew, and
 * works off the event loop. The sum is within one level of the picture taken directly.
 */
export interface Layers {
  /** Null when more layers than allowed would have to be taken; none is, then. */
  compose(composition: Composition): Promise<RawPicture | null>;
  /** What took the last layer, also before a restart; null when that is not known. */
  recallMaker(): Promise<LayerMaker | null>;
}
