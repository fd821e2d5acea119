import type { Pixels } from '../../../images/read-pixels.ts';
import type { TexelMask } from './mask-texels.ts';

/** How a material shows a colour map. */
export interface Wearing {
  /** What of the map its triangles show; null for all of it. */
  readonly mask: TexelMask | null;
  readonly alpha: { readonly mode: 'OPAQUE' | 'MASK' | 'BLEND'; readonly cutoff: number };
}

/** How much each texel counts for a material, 0–255; null where all count alike, as where none of them would. */
export function weighTexels(
  { data, channels, widthPx, heightPx }: Pixels,
  { mask, alpha }: Wearing,
): Uint8Array | null {
  const byAlpha = channels === 4 && alpha.mode !== 'OPAQUE';
  if (!mask && !byAlpha) return null;
  const weights = new Uint8Array(widthPx * heightPx);
  const cutoff = alpha.cutoff * 255;
  let any = false;
  for (let y = 0, texel = 0; y < heightPx; y++) {
    const row = mask ? Math.floor((y * mask.height) / heightPx) * mask.width : 0;
    for (let x = 0; x < widthPx; x++, texel++) {
      if (mask && mask.cells[row + Math.floor((x * mask.width) / widthPx)] === 0) continue;
      const code = byAlpha ? data[texel * 4 + 3]! : 255;
      const weight = alpha.mode === 'MASK' ? (code >= cutoff ? 255 : 0) : code;
      weights[texel] = weight;
      any ||= weight > 0;
    }
  }
  return any ? weights : null;
}
