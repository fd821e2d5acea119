import { readFile } from 'node:fs/promises';
import type { ModelMediaType } from '../../core/ports/models.ts';
import { readContainer } from '../document/container.ts';
import { type Model, mendJson } from '../mend/read-model.ts';
import { checkComplexity } from './check-complexity.ts';
import { checkStructure } from './check-structure.ts';
import { outside, packArchive, packGltf } from './pack-model.ts';

/**
 * Opens a received model and checks its structure. Packs a `.gltf` or a zip into a GLB first.
 * @param packedPath path for the packed GLB
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
  const read = await readContainer(glb);
  checkComplexity(read.json);
  const mended = mendJson(read.json);
  const container = { ...read, ...mended, damages: [...packing, ...mended.damages] };
  checkStructure(container.json);
  refuseOutsideFiles(container);
  return { container, path: glb, packed };
}

/** A GLB must not refer to other files; data URIs are allowed. */
function refuseOutsideFiles({ json }: Model): void {
  for (const kind of ['buffers', 'images'] as const) {
    json[kind]?.forEach(({ uri }, i) => {
      if (uri !== undefined && !uri.startsWith('data:')) outside(uri, `/${kind}/${i}`);
    });
  }
}
