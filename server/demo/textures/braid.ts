import type { Field } from './noise.ts';
import { makeField } from './noise.ts';

/** Relief of a braided sleeve in mm: strands cross over and under each other on two slants. */
export interface BraidShape {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Strands of each slant over the width and height of the map. */
  readonly strands: number;
  readonly reliefMm: number;
}

export function makeBraidRelief({ widthPx, heightPx, strands, reliefMm }: BraidShape): Field {
  return makeField(widthPx, heightPx, (x, y) => {
    const u = ((x + 0.5) / widthPx) * strands;
    const v = ((y + 0.5) / heightPx) * strands;
    const a = u + v;
    const b = u - v;
    const over = strand(a, b);
    const under = strand(b + 1, a);
    return Math.max(over, under) * reliefMm;
  });
}

/** One slant: `across` counts strands, `along` their crossings. Three yarns lie side by side in each strand. */
function strand(across: number, along: number): number {
  const lane = Math.floor(across);
  const f = (across - lane - 0.5) * 2;
  const arch = Math.sqrt(Math.max(0, 1 - f * f * 1.04));
  const yarns = 0.09 * Math.cos(f * Math.PI * 3);
  const lift = Math.cos(Math.PI * (along - 0.5 + lane));
  return 0.55 + 0.3 * lift + 0.25 * arch + yarns;
}
