import type { RawPicture } from '../server/core/ports/renderer.ts';
import { Problem } from '../server/core/problems.ts';

/** A flat chip of one colour, `#rrggbb` sRGB: exact to the level, no browser, no light. Encode it without loss. */
export function makeChip(hex: string, widthPx: number, heightPx: number = widthPx): RawPicture {
  const match = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(hex);
  if (!match) {
    throw new Problem('colour-incomplete', {
      detail: 'A chip needs a colour as #rrggbb.',
      expected: '#rrggbb',
      received: hex,
    });
  }
  const [red, green, blue] = match.slice(1).map((pair) => Number.parseInt(pair, 16)) as [number, number, number];
  const rgba = new Uint8Array(widthPx * heightPx * 4);
  for (let at = 0; at < rgba.length; at += 4) {
    rgba[at] = red;
    rgba[at + 1] = green;
    rgba[at + 2] = blue;
    rgba[at + 3] = 255;
  }
  return { widthPx, heightPx, rgba };
}
