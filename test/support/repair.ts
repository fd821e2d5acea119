import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Repaired } from '../../server/core/ports/models.ts';
import type { Repair } from '../../server/core/repair/repair.ts';
import { repairModel } from '../../server/gltf/repair/repair-model.ts';

/** Repairs a GLB in memory, and reads the result. */
export async function repairBytes(
  bytes: Uint8Array,
  repairs: readonly Repair[],
  mode: 'strict' | 'lenient' = 'strict',
): Promise<Repaired & { readonly glb: Buffer }> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-repair-'));
  try {
    const [sourcePath, targetPath] = [join(folder, 'source.glb'), join(folder, 'target.glb')];
    await writeFile(sourcePath, bytes);
    const repaired = await repairModel({ sourcePath, targetPath, repairs, mode });
    return { ...repaired, glb: await readFile(targetPath) };
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}
