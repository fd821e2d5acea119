import type { Size } from '../../format.ts';

/** How large a product's square picture stands on the sheet. */
export interface Standing {
  /** Side of the picture as a share of the column, 0–1. */
  readonly share: number;
  /** How far the product's foot is above the picture's lower edge, as a share of its side. */
  readonly foot: number;
  /** How much larger than at the line's scale it is drawn; 1 is at scale. */
  readonly enlarged: number;
}

/** The studio's three-quarter view: 32° round, 12° above, filling 85 % of the frame in its tighter direction. */
const YAW = (32 * Math.PI) / 180;
const ELEVATION = (12 * Math.PI) / 180;
const FILL = 0.85;

/** Smaller than this a product is no longer recognised; it is enlarged, and the sheet says so. */
const SMALLEST = 0.36;

/** Without a size a picture takes this much of its column: its scale is not known. */
const UNKNOWN: Standing = { share: 0.8, foot: (1 - FILL) / 2, enlarged: 1 };

/** A picture that fills its own frame: products of no common line need no common scale. */
export const OWN_FRAME: Standing = { share: 1, foot: (1 - FILL) / 2, enlarged: 1 };

/** Brings a line's pictures to one scale, standing on one floor. */
export function planScale(sizes: readonly (Size | null)[]): Standing[] {
  const frames = sizes.map((size) => (size ? getFrame(size) : null));
  const largest = Math.max(...frames.map((frame) => frame?.side ?? 0));
  return frames.map((frame): Standing => {
    if (!frame || largest <= 0) return UNKNOWN;
    const share = frame.side / largest;
    const drawn = Math.max(share, SMALLEST);
    return { share: drawn, foot: (1 - frame.height / frame.side) / 2, enlarged: drawn / share };
  });
}

function getFrame({ widthMm, depthMm, heightMm }: Size): { side: number; height: number } {
  const across = widthMm * Math.cos(YAW) + depthMm * Math.sin(YAW);
  const into = widthMm * Math.sin(YAW) + depthMm * Math.cos(YAW);
  const height = heightMm * Math.cos(ELEVATION) + into * Math.sin(ELEVATION);
  return { side: Math.max(across, height) / FILL, height };
}
