import type { Size } from '../../format.ts';

/** The size and place of a product's square picture. */
export interface Placement {
  /** Side of the picture as a share of the column, 0–1. */
  readonly share: number;
  /** Distance from the picture's lower edge to the product's foot, as a share of its side. */
  readonly foot: number;
  /** Magnification relative to the line's scale; 1 is to scale. */
  readonly enlarged: number;
}

/** The studio's three-quarter view: 32° to the side, 12° above, filling 85 % of the frame in the tighter direction. */
const YAW = (32 * Math.PI) / 180;
const ELEVATION = (12 * Math.PI) / 180;
const FILL = 0.85;

/** A smaller picture could not be recognised, so it is enlarged and labelled. */
const LEAST_SHARE = 0.36;

/** A product without a known size. */
const UNKNOWN: Placement = { share: 0.8, foot: (1 - FILL) / 2, enlarged: 1 };

/** Brings a line's pictures to one scale and one floor. */
export function planScale(sizes: readonly (Size | null)[]): Placement[] {
  const frames = sizes.map((size) => (size ? getFrame(size) : null));
  const largest = Math.max(...frames.map((frame) => frame?.side ?? 0));
  return frames.map((frame): Placement => {
    if (!frame || largest <= 0) return UNKNOWN;
    const share = frame.side / largest;
    const drawn = Math.max(share, LEAST_SHARE);
    return { share: drawn, foot: (1 - frame.height / frame.side) / 2, enlarged: drawn / share };
  });
}

function getFrame({ widthMm, depthMm, heightMm }: Size): { side: number; height: number } {
  const across = widthMm * Math.cos(YAW) + depthMm * Math.sin(YAW);
  const into = widthMm * Math.sin(YAW) + depthMm * Math.cos(YAW);
  const height = heightMm * Math.cos(ELEVATION) + into * Math.sin(ELEVATION);
  return { side: Math.max(across, height) / FILL, height };
}
