import type { MapFile } from '../core/ports/models.ts';
import type { Context } from './context.ts';

/** Reads uploaded images by digest, each once. */
export function makeMapReader({
  stores,
  files,
}: Pick<Context, 'stores' | 'files'>): (sha256: string) => Promise<MapFile> {
  const read = new Map<string, Promise<MapFile>>();
  return (sha256) => {
    let map = read.get(sha256);
    if (!map) {
      map = stores.getFile(sha256).then(async (image) => {
        if (!image) throw new Error(`map ${sha256} is not stored`);
        return { bytes: await files.read(sha256), mimeType: image.mimeType };
      });
      read.set(sha256, map);
    }
    return map;
  };
}
