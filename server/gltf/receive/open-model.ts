import { readFile } from 'node:fs/promises';
import type { ModelMediaType } from '../../core/ports/models.ts';
import { type Model, readModel } from '../mend/read-model.ts';
import { checkStructure } from './check-structure.ts';
import { outside, packArchive, packGltf } from './pack-model.ts';

/**
 * Makes sure that what was received can be read, packing it into a GLB where needed.
 * @param packedPath where the GLB goes when the file is a `.gltf` or a zip
 * @throws Problem `model-…`, `archive-…`
 */
export async function openModel(
  path: string,
  mediaType: ModelMediaType,
  packedPath: string,
): Promise<{ readonly container: Model; readonly path: string; readonly packed: boolean }> {
  const packed = mediaType !== 'model/gltf-binary';
  const packing =
    mediaType === 'application/zip'
      ? await packArchive(path, packedPath)
      : mediaType === 'model/gltf+json'
        ? await packGltf(await readFile(path), packedPath)
        : [];
  const glb = packed ? packedPath : path;
  const model = await readModel(glb);
  const container = { ...model, damages: [...packing, ...model.damages] };
  checkStructure(container.json);
  refuseOutsideFiles(container);
  return { container, path: glb, packed };
}

/** A GLB is one file: what it refers to is inside it, or written out in a data URI. */
function refuseOutsideFiles({ json }: Model): void {
  for (const kind of ['buffers', 'images'] as const) {
    json[kind]?.forEach(({ uri }, i) => {
      if (uri !== undefined && !uri.startsWith('data:')) outside(uri, `/${kind}/${i}`);
    });
  }
}
