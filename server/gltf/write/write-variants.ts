import { foldCode } from '../../core/codes.ts';
import type { WriteRequest, Written } from '../../core/ports/models.ts';
import type { Container } from '../document/container.ts';
import { listVariantNames } from '../document/json.ts';
import { DerivedMaps, type MapMaker } from '../materials/derived-maps.ts';
import { makeFinishMaterials } from '../materials/finish-material.ts';
import type { FinishResult } from '../materials/material-spec.ts';
import { listKeptTextures, readPartOverrides } from '../materials/part-overrides.ts';
import { specifyMaterials } from '../materials/specify-materials.ts';
import { readSupplied, type SuppliedMaterials } from '../materials/supplied/read-supplied.ts';
import { mendTextures } from '../mend/mend-textures.ts';
import { readModel } from '../mend/read-model.ts';
import { appendMaterials, declareExtensions, listImageLengths } from './append-materials.ts';
import { GltfAppender } from './gltf-appender.ts';
import { mapPrimitives } from './map-primitives.ts';
import { keepRanges } from './plan-cuts.ts';
import { planRemovals, type Removals } from './plan-removals.ts';
import { type ByteSource, streamGlb } from './stream-glb.ts';
import { listWriteFindings } from './write-findings.ts';

/**
 * Writes a GLB with all variants of a plan: the source's JSON with new materials, images and mappings, and the source's bytes
 * streamed through. The geometry does not change, and indices of the source stay the same. The same input gives the same
 * bytes.
 */
export async function writeVariants(request: WriteRequest, maps: MapMaker = new DerivedMaps()): Promise<Written> {
  const { sourcePath, targetPath, plan, readMap } = request;

  // read the model
  const source = await readModel(sourcePath);
  const { json } = source;
  mendTextures(json, request.images);
  const replacedVariants = listVariantNames(json);

  // specify and make the materials; nothing changes the JSON yet
  const supplied = await readSupplied(request, json);
  const results = listFinishResults(request, supplied);
  const overrides = await readPartOverrides(results, request, source, maps);
  const { specs, firstAlike } = specifyMaterials(results, overrides);
  const written = specs.filter((_, at) => firstAlike[at] === at);
  const finishMaterials = await makeFinishMaterials(written, readMap, maps);
  const materials = { results, firstAlike, finishMaterials, overrides, supplied };

  // change the JSON
  const removals = planRemovals(source, plan, listKeptTextures(overrides));
  const appender = await GltfAppender.open(sourcePath, source, removals, listImageLengths(materials));
  const resultMaterials = appendMaterials(appender, plan, materials);
  mapPrimitives(json, plan, resultMaterials, (result) => supplied.keys[result] !== null);
  appender.finish();
  declareExtensions(json, [finishMaterials, ...supplied.byKey.values()], plan.variants);

  // write the file
  const file = await streamGlb(targetPath, json, readKeptBytes(sourcePath, source, removals), appender.appended);
  return {
    ...file,
    modelBytes: (source.bin?.length ?? 0) - removals.leftOutBytes,
    addedImageBytes: appender.imageBytes,
    leftOutBytes: removals.leftOutBytes,
    deadBytes: removals.deadBytes,
    materials: json.materials?.length ?? 0,
    images: json.images?.length ?? 0,
    replacedVariants,
    resultMaterials,
    findings: listWriteFindings({ plan, results, specs, overrides, supplied, deadBytes: removals.deadBytes }),
  };
}

/** The results whose material is made from a finish, and not supplied. */
function listFinishResults({ plan, finishes }: WriteRequest, supplied: SuppliedMaterials): FinishResult[] {
  return plan.results.flatMap((planned, index) => {
    if (planned.kind !== 'finish' || supplied.keys[index] !== null) return [];
    const finish = finishes.get(foldCode(planned.finish));
    if (!finish) throw new Error(`finish ${planned.finish} is in the plan but was not resolved`);
    return [{ index, planned, finish }];
  });
}

/** The bytes of the source's BIN chunk that the delivery keeps. */
function readKeptBytes(path: string, { bin }: Container, { cuts, leftOutBytes }: Removals): ByteSource {
  const { offset, length } = bin ?? { offset: 0, length: 0 };
  const ranges = keepRanges(cuts, length).map(({ start, end }) => ({ start: start + offset, end: end + offset }));
  const kept = ranges.reduce((sum, { start, end }) => sum + end - start, 0);
  if (kept !== length - leftOutBytes) throw new Error('the cuts of a delivery do not add up');
  return { path, ranges };
}
