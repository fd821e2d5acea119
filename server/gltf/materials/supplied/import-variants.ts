import { createHash } from 'node:crypto';
import type { TakeInRequest, TakenIn, TakenMaterial } from '../../../core/ports/models.ts';
import { readWholeFile } from '../../document/container.ts';
import { VARIANTS } from '../../document/json.ts';
import { listVariantNames, readName } from '../../document/read-names.ts';
import { mendTextures } from '../../mend/mend-textures.ts';
import { readModel } from '../../mend/read-model.ts';
import { ModelEdit } from '../../repair/edit/model-edit.ts';
import { writeEdit } from '../../repair/edit/write-edit.ts';
import { extractMaterial } from './extract-material.ts';
import { readWorn } from './read-material-use.ts';
import { splitMaterials } from './split-materials.ts';

/**
 * Reads the variants a model carries: what every part wears in each, and the materials that come and go, each as a GLB of
 * its own. Where slots by material would be too coarse, a model with more materials is written to `targetPath`.
 */
export async function takeIn({ sourcePath, targetPath, images, primitives }: TakeInRequest): Promise<TakenIn> {
  const { json, bin } = await readModel(sourcePath);
  const file = readWholeFile(sourcePath);
  const edit = new ModelEdit(json, bin && file.subarray(bin.offset, bin.offset + bin.length));
  const variants = listVariantNames(json);
  const worn = readWorn(json, variants.length, primitives);
  const shown = new Set(
    worn.flatMap(({ varies, own, byVariant }) => (varies ? [own, ...byVariant] : [])).filter((m) => m !== null),
  );
  // the model itself stays as it came
  const mended = { ...edit.loaded, json: structuredClone(json) };
  mendTextures(mended.json, images);
  const materials = [...shown]
    .sort((a, b) => a - b)
    .map((index): TakenMaterial => {
      const bytes = extractMaterial(mended, index);
      const material = json.materials![index]!;
      return {
        index,
        name: readName(material.name),
        extensions: Object.keys(material.extensions ?? {}),
        bytes: new Uint8Array(bytes),
        sha256: createHash('sha256').update(bytes).digest('hex'),
      };
    });
  const mapped = countMapped(json);
  const { parts, copies } = splitMaterials(edit, worn);
  const split = copies > 0 ? await writeEdit(edit, targetPath) : null;
  return {
    variants,
    parts: parts.map(({ material, own, byVariant, varies }) => ({ material, own, byVariant, varies })),
    materials,
    split,
    leftOut: mapped - countAmong(json, primitives),
  };
}

function countMapped(json: ModelEdit['json']): number {
  return (json.meshes ?? []).reduce(
    (sum, mesh) => sum + mesh.primitives.filter((primitive) => primitive.extensions?.[VARIANTS]).length,
    0,
  );
}

function countAmong(json: ModelEdit['json'], primitives: TakeInRequest['primitives']): number {
  return primitives.filter(({ mesh, primitive }) => json.meshes?.[mesh]?.primitives[primitive]?.extensions?.[VARIANTS])
    .length;
}
