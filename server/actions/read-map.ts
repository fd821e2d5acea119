import type { ReadMap } from '../core/ports/models.ts';
import type { Context } from './context.ts';
import { readLevelled, refuseDamaged } from './recall-maps.ts';

/** Reads uploaded images, levelled where that is asked for, and supplied materials by digest, each once. */
export function makeMapReader(context: Pick<Context, 'stores' | 'files' | 'imaging' | 'pictures'>): ReadMap {
  const read = new Map<string, ReturnType<ReadMap>>();
  return (sha256, contrast) => {
    const key = `${sha256} ${contrast ?? ''}`;
    let map = read.get(key);
    if (!map) {
      map = contrast === undefined ? readFile(context, sha256) : readAtContrast(context, sha256, contrast);
      read.set(key, map);
    }
    return map;
  };
}

async function readAtContrast(
  context: Parameters<typeof makeMapReader>[0],
  sha256: string,
  contrast: number,
): ReturnType<ReadMap> {
  const { bytes, mediaType } = await readLevelled(context, sha256, contrast);
  return { bytes, mimeType: mediaType };
}

/** Images are listed with what they are; a supplied material is a file and no more. */
async function readFile(context: Pick<Context, 'stores' | 'files' | 'imaging'>, sha256: string): ReturnType<ReadMap> {
  const { stores, files } = context;
  const image = await stores.getFile(sha256);
  if (image) await refuseDamaged(context, sha256);
  return { bytes: await files.read(sha256), mimeType: image?.mimeType ?? 'model/gltf-binary' };
}
