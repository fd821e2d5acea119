import type { CodeCounts } from '../core/finish/level-map.ts';
import type { Pixels } from './read-pixels.ts';

/**
 * How often each code occurs in red, green and blue.
 * @param weights how much each texel counts; null where all count once
 */
export function countCodes({ data, channels }: Pixels, weights: Uint8Array | null = null): CodeCounts {
  const counts = Array.from({ length: 3 }, () => new Array<number>(256).fill(0));
  for (let i = 0, texel = 0; i < data.length; i += channels, texel++) {
    const weight = weights === null ? 1 : weights[texel]!;
    if (weight > 0) for (let c = 0; c < 3; c++) counts[c]![data[i + c]!]! += weight;
  }
  return counts as unknown as CodeCounts;
}
