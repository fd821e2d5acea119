/** The differences between two pictures of 8-bit channels. */
export interface Difference {
  /** Levels of 255. */
  readonly most: number;
  /** Share of channels that differ at all, 0–1. */
  readonly share: number;
}

/** Compares the bytes of two pictures, channel by channel. */
export function comparePictures(one: Uint8Array, other: Uint8Array): Difference {
  if (one.length !== other.length) throw new Error(`pictures of ${one.length} and ${other.length} bytes`);
  let most = 0;
  let off = 0;
  for (let at = 0; at < one.length; at++) {
    const difference = Math.abs(one[at]! - other[at]!);
    if (difference === 0) continue;
    off++;
    most = Math.max(most, difference);
  }
  return { most, share: off / one.length };
}
