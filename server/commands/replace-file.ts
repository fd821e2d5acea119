import { rename, rm } from 'node:fs/promises';
import { resolve } from 'node:path';

/**
 * Writes a file next to its target, and renames it only when it is complete and checked. So an earlier file is never lost.
 * @param write writes to the path it gets; when it throws, the target stays as it was
 */
export async function replaceFile<T>(target: string, write: (partPath: string) => Promise<T>): Promise<T> {
  const path = resolve(target);
  const partPath = `${path}.part`;
  try {
    const result = await write(partPath);
    await rename(partPath, path);
    return result;
  } catch (error) {
    await rm(partPath, { force: true });
    throw error;
  }
}
