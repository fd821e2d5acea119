import type { Mesh } from 'three';

interface SwatchSetting {
  readonly sizePx: number;
  /** Width of the piece of a panel. */
  readonly widthMm: number;
  /** Even light: nothing throws a shadow. */
  readonly flat: boolean;
  /** What is shown is a metal: it is shot with a white screen to mirror, as is common practice. */
  readonly metal: boolean;
}

/** One shape a finish is shown on. */
export interface SwatchShape {
  readonly mesh: Mesh;
  /** Whether it stands in the open; else its own folds shade it. */
  readonly open: boolean;
  /** Whether its back is seen. */
  readonly twoSided: boolean;
  getSubsamples(sizePx: number): number;
  /** Puts the shape, which wears its material, on the stage; afterwards subsamples can be taken. */
  pose(setting: SwatchSetting): void;
  /** Draws on the picture that was taken. */
  finish?(rgba: Uint8Array): void;
}
