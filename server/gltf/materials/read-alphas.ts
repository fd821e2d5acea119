import { open } from 'node:fs/promises';
import type { Container } from '../document/container.ts';
import { readImageBytes } from '../document/image-bytes.ts';
import { bestSource } from '../document/texture-uses.ts';
import type { MadeMaps } from './made-maps.ts';
import type { KeptFromPart } from './part-overrides.ts';

/** PNG of the alpha under white; null when all is opaque; `as it is` when the map cannot be taken apart (KTX2). */
export type PartAlpha = Uint8Array | 'as it is' | null;

/** Alpha of the colour maps that shape parts, by texture of the source. */
export async function readAlphas(
  sourcePath: string,
  { json, bin }: Container,
  kept: readonly (KeptFromPart | null)[],
  maps: MadeMaps,
): Promise<Map<number, PartAlpha>> {
  const alphas = new Map<number, PartAlpha>();
  const wanted = new Set(kept.flatMap((part) => (part?.alpha?.texture ? [part.alpha.texture.index] : [])));
  if (wanted.size === 0) return alphas;
  const file = await open(sourcePath, 'r');
  try {
    for (const texture of wanted) {
      const image = bestSource(json.textures?.[texture]);
      const bytes = image === null ? null : await readImageBytes(file, { json, bin }, image);
      alphas.set(
        texture,
        bytes ? await maps.remake({ bytes }, 'alpha-under-white').catch(() => 'as it is' as const) : null,
      );
    }
  } finally {
    await file.close();
  }
  return alphas;
}
