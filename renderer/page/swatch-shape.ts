import type { Mesh } from 'three';

interface SwatchSetting {
  readonly sizePx: number;
  /** Width of a panel's piece. */
  readonly widthMm: number;
  /** Even light without shadows. */
  readonly flat: boolean;
  /** A metal, which gets a white screen to mirror, as is common practice. */
  readonly metal: boolean;
}

/** A shape that shows a finish. */
export interface SwatchShape {
  readonly mesh: Mesh;
  /** Without shade; otherwise its own folds shade it. */
  readonly open: boolean;
  /** Whether its back is visible. */
  readonly twoSided: boolean;
  getSubsamples(sizePx: number): number;
  /** Shows the shape, which has its material, in the scene; then subsamples can be taken. */
  pose(setting: SwatchSetting): void;
  /** Draws on the finished picture. */
  finish?(rgba: Uint8Array): void;
}
