import type { View } from './picture.ts';
import { STANDS } from './stands.ts';

/** Share of the frame the product fills in its tighter direction; common practice of catalogues. */
export const PRODUCT_FILL = 0.85;

export interface ScaleCase {
  /** Overall size of the product, mm. */
  readonly size: { readonly widthMm: number; readonly depthMm: number; readonly heightMm: number };
  readonly view: View;
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * About how many pixels a millimetre has in a picture, in the middle of the product and square to the view. Its box is taken
 * to fill the frame as the studio has it, seen without perspective; what stands nearer is larger, by a tenth or two.
 */
export function estimateScale({ size, view, widthPx, heightPx }: ScaleCase): number {
  const { yawDegrees, elevationDegrees } = STANDS[view];
  const yaw = (yawDegrees * Math.PI) / 180;
  const elevation = (elevationDegrees * Math.PI) / 180;
  const { widthMm, depthMm, heightMm } = size;
  const across = widthMm * Math.abs(Math.cos(yaw)) + depthMm * Math.abs(Math.sin(yaw));
  const behind = widthMm * Math.abs(Math.sin(yaw)) + depthMm * Math.abs(Math.cos(yaw));
  const up = heightMm * Math.abs(Math.cos(elevation)) + behind * Math.abs(Math.sin(elevation));
  return PRODUCT_FILL * Math.min(widthPx / across, heightPx / up);
}
