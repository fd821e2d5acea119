import type { FormLoss, GeometryLoss } from '../../core/delivery/compressed-form.ts';
import type { Compressed, CompressRequest } from '../../core/ports/models.ts';
import { readContainer, readWholeFile } from '../document/container.ts';
import { decodeGeometry } from '../document/decode-geometry.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import { ModelEdit } from '../repair/edit/model-edit.ts';
import { unpackGeometry } from '../repair/edit/unpack-geometry.ts';
import { compressTextures } from './compress-textures.ts';
import { packDraco } from './draco-geometry.ts';
import { measureGeometry } from './measure-geometry.ts';
import { packGeometry } from './pack-geometry.ts';
import { ViewEdit } from './view-edit.ts';

/**
 * Writes a compressed form of a delivered GLB, reads it back, and measures what it lost. Materials, variants, names, nodes and
 * unknown extensions stay. It holds the whole model in memory, so a service runs it in a worker.
 */
export async function compressModel({ sourcePath, targetPath, form }: CompressRequest): Promise<Compressed> {
  const delivered = await load(sourcePath);
  const model = new ModelEdit(structuredClone(delivered.json), delivered.bin);
  const kept: FormLoss['kept'][number][] = [];
  // an unknown extension may refer to any view or accessor
  const mayPack = form.geometry !== null && model.mayRenumber;
  if (form.geometry !== null && !mayPack) kept.push({ image: null, reason: 'unknown-extension' });
  if (mayPack) await unpackGeometry(model);
  const plain: LoadedModel = {
    json: structuredClone(model.json),
    bin: model.bin,
    views: model.added,
    cache: new Map(),
  };
  const edit = new ViewEdit(model.json, model.bin, model.added);
  let keptMeshes = 0;
  if (mayPack) {
    keptMeshes =
      form.geometry === 'draco' ? await packDraco(edit, plain) : await packGeometry(edit, plain, form.geometry!);
  }
  const textures = form.textures === null ? [] : await compressTextures(edit, plain, form.textures, kept);
  const written = await edit.write(targetPath);
  const geometry = mayPack ? await compare(plain, targetPath, keptMeshes) : null;
  return { ...written, loss: { geometry, textures, kept } };
}

async function load(path: string): Promise<LoadedModel> {
  const { json, bin } = await readContainer(path);
  const file = readWholeFile(path);
  return { json, bin: bin && file.subarray(bin.offset, bin.offset + bin.length) };
}

async function compare(plain: LoadedModel, path: string, keptMeshes: number): Promise<GeometryLoss> {
  const after = await decodeGeometry({ ...(await load(path)), cache: new Map() }, 'all');
  if (after.undecodable?.length) throw new Error(`the written form cannot be decoded: ${after.undecodable[0]}`);
  return measureGeometry(plain, after, keptMeshes);
}
