import { type FileHandle, open } from 'node:fs/promises';
import { makeLevelTables } from '../../core/finish/level-map.ts';
import type { Container } from '../document/container.ts';
import { readImageBytes } from '../document/image-bytes.ts';
import { bestSource } from '../document/texture-uses.ts';
import type { MadeMaps } from './made-maps.ts';
import type { AlphaMap, LevelledDetailMap, PartOverrides, PlanOverrides } from './material-spec.ts';

type Detail = NonNullable<PartOverrides['detail']>;

/** Key of the re-encoded map that a detail map needs; null where the map stays as it is. */
export function keyDetailMap({ material, texture, map, levelled }: Detail): string | null {
  return levelled.contrast === null || !map.codes ? null : `${material} ${texture.index} ${levelled.contrast}`;
}

/** Makes the maps that parts keep in a changed form, each once. Must run before the source's JSON is changed. */
export async function derivePartMaps(
  parts: readonly PartOverrides[],
  sourcePath: string,
  source: Container,
  maps: MadeMaps,
): Promise<Pick<PlanOverrides, 'alphaMaps' | 'detailMaps'>> {
  const alphaMaps = new Map<number, AlphaMap>();
  const detailMaps = new Map<string, LevelledDetailMap>();
  const details = new Map<string, Detail>();
  for (const { detail } of parts) {
    const key = detail && keyDetailMap(detail);
    if (key !== null) details.set(key, detail!);
  }
  const alphas = new Set(parts.flatMap(({ alpha }) => (alpha?.texture ? [alpha.texture.index] : [])));
  if (alphas.size + details.size === 0) return { alphaMaps, detailMaps };
  const file = await open(sourcePath, 'r');
  try {
    for (const texture of alphas) {
      const bytes = await readTexture(file, source, texture);
      alphaMaps.set(texture, bytes && (await extractAlpha(bytes, maps)));
    }
    for (const [key, { texture, map, levelled }] of details) {
      const bytes = await readTexture(file, source, texture.index);
      const tables = makeLevelTables(map.codes!, levelled.contrast!);
      detailMaps.set(key, { texture: texture.index, ...(await maps.level({ bytes: bytes! }, tables)) });
    }
  } finally {
    await file.close();
  }
  return { alphaMaps, detailMaps };
}

function extractAlpha(bytes: Uint8Array, maps: MadeMaps): Promise<AlphaMap> {
  return maps.remake({ bytes }, 'alpha-under-white').catch(() => 'unchanged' as const);
}

async function readTexture(file: FileHandle, source: Container, texture: number): Promise<Buffer | null> {
  const image = bestSource(source.json.textures?.[texture]);
  return image === null ? null : readImageBytes(file, source, image);
}
