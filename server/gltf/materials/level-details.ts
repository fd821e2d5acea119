import { open } from 'node:fs/promises';
import { makeLevelTables } from '../../core/finish/level-map.ts';
import type { MapFile } from '../../core/ports/models.ts';
import type { Container } from '../document/container.ts';
import { readImageBytes } from '../document/image-bytes.ts';
import { bestSource } from '../document/texture-uses.ts';
import type { MadeMaps } from './made-maps.ts';
import type { KeptFromPart } from './part-overrides.ts';

/** A detail map re-encoded for the finishes that need it so, and the texture it takes the place of. */
export interface LevelledDetail extends MapFile {
  readonly texture: number;
}

type Detail = NonNullable<KeptFromPart['detail']>;

/** Key of the re-encoded map that a kept detail needs; null where the map is laid as it is. */
export function keyDetail({ material, texture, map, levelled }: Detail): string | null {
  return levelled.contrast === null || !map.codes ? null : `${material} ${texture.index} ${levelled.contrast}`;
}

/**
 * Detail maps of parts, re-encoded as their finishes need them, each once. Reads the source as it stands, before anything
 * of it is moved.
 */
export async function levelDetails(
  sourcePath: string,
  { json, bin }: Container,
  kept: readonly (KeptFromPart | null)[],
  maps: MadeMaps,
): Promise<Map<string, LevelledDetail>> {
  const wanted = new Map<string, Detail>();
  for (const part of kept) {
    const key = part?.detail ? keyDetail(part.detail) : null;
    if (key !== null) wanted.set(key, part!.detail!);
  }
  const made = new Map<string, LevelledDetail>();
  if (wanted.size === 0) return made;
  const file = await open(sourcePath, 'r');
  try {
    for (const [key, { texture, map, levelled }] of wanted) {
      const image = bestSource(json.textures![texture.index]);
      const bytes = await readImageBytes(file, { json, bin }, image!);
      const tables = makeLevelTables(map.codes!, levelled.contrast!);
      made.set(key, { texture: texture.index, ...(await maps.level({ bytes: bytes! }, tables)) });
    }
  } finally {
    await file.close();
  }
  return made;
}
