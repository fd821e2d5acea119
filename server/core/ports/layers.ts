import type { LayerMaker, RawLayer, RawPicture } from './renderer.ts';

export interface Composition {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Each by the key of all that determines it. */
  readonly layers: readonly string[];
  /** sRGB levels of an even ground; null leaves it see-through. */
  readonly ground: readonly [number, number, number] | null;
  /** Layers that may be taken for it. */
  readonly takeAtMost: number;
  /** Takes some of the layers, which are named by their places in the list, and answers them in that order. */
  take(places: readonly number[]): Promise<readonly RawLayer[]>;
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
