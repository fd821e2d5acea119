import type { RawPicture } from '../server/core/ports/renderer.ts';
import { Problem } from '../server/core/problems.ts';
import { COLOUR_PROBLEMS } from '../server/core/texts/problems/finish.ts';

/** A flat chip of one colour, `#rrggbb` sRGB: exact to the level, no browser, no light. Encode it without loss. */
export function makeChip(hex: string, widthPx: number, heightPx: number = widthPx): RawPicture {
  const match = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(hex);
  if (!match) {
    throw new Problem('colour-incomplete', {
      detail: COLOUR_PROBLEMS['colour-incomplete'].chipNotHex,
      expected: '#rrggbb',
      received: hex,
    });
  }
  const [red, green, blue] = match.slice(1).map((pair) => Number.parseInt(pair, 16)) as [number, number, number];
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  // one 32-bit word for each pixel, in whatever order this machine has its bytes
  new Uint32Array(rgba.buffer).fill(new Uint32Array(new Uint8Array([red, green, blue, 255]).buffer)[0]!);
  return { widthPx, heightPx, rgba };
}
