import type { MapFile } from '../core/ports/models.ts';
import type { Context } from './context.ts';

/** Reads uploaded images and supplied materials by digest, each once. */
export function makeMapReader({
  stores,
  files,
}: Pick<Context, 'stores' | 'files'>): (sha256: string) => Promise<MapFile> {
  const read = new Map<string, Promise<MapFile>>();
  return (sha256) => {
    let map = read.get(sha256);
    if (!map) {
      map = stores.getFile(sha256).then(async (image) => {
        // images are listed with what they are; a supplied material is a file and no more
        return { bytes: await files.read(sha256), mimeType: image?.mimeType ?? 'model/gltf-binary' };
      });
      read.set(sha256, map);
    }
    return map;
  };
}
