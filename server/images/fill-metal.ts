import type { Pixels } from './read-pixels.ts';

/**
 * Fills the blue channel of a roughness map: glTF reads metalness from it, and on a metal it has to be 1 everywhere. Green,
 * which is roughness, keeps its codes.
 */
export function fillMetal({ data, widthPx, heightPx, channels }: Pixels): Pixels {
  const filled = Buffer.alloc(widthPx * heightPx * 3);
  for (let from = 0, to = 0; to < filled.length; from += channels, to += 3) {
    filled[to] = data[from]!;
    filled[to + 1] = data[from + 1]!;
    filled[to + 2] = 255;
  }
  return { data: filled, widthPx, heightPx, channels: 3 };
}
