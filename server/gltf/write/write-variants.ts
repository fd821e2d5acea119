import type { WriteRequest, Written } from '../../core/ports/models.ts';
import type { Container } from '../document/container.ts';
import { digestImagesOfLength } from '../document/image-bytes.ts';
import type { GltfJson } from '../document/json.ts';
import { listVariantNames } from '../document/read-names.ts';
import { layNormals } from '../materials/combine-part-normals.ts';
import { makeFinishKit } from '../materials/finish-material.ts';
import { keyDetail, levelDetails } from '../materials/level-details.ts';
import { MadeMaps } from '../materials/made-maps.ts';
import { findAlike, findFinish, toKitItem } from '../materials/material-spec.ts';
import { applyKept, type KeptFromPart, readKept } from '../materials/part-overrides.ts';
import { readAlphas } from '../materials/read-alphas.ts';
import { keepColours, readSupplied } from '../materials/supplied/read-supplied.ts';
import { mendTextures } from '../mend/mend-textures.ts';
import { readModel } from '../mend/read-model.ts';
import { declareExtensions } from './declare-extensions.ts';
import { dressPrimitives } from './dress-primitives.ts';
import { findLiveObjects } from './find-referenced.ts';
import { Merge } from './gltf-appender.ts';
import { listDoubleSidedBodies } from './list-double-sided-bodies.ts';
import { listUnevenThickness } from './list-uneven-thickness.ts';
import { listWriteFindings } from './list-write-findings.ts';
import { moveViews } from './move-views.ts';
import { keepRanges, makeShift, planCuts } from './plan-cuts.ts';
import { writeGlb } from './stream-glb.ts';

/**
 * Writes a GLB that carries the plan: the source's JSON with materials, images and mappings merged in, and its bytes
 * streamed through. Geometry is not touched; indices of the source, as it was mended on reading, never shift; the same
 * input gives the same bytes.
 */
export async function writeVariants(request: WriteRequest, maps = new MadeMaps()): Promise<Written> {
  const { plan } = request;
  const container = await readModel(request.sourcePath);
  const { json } = container;
  mendTextures(json, request.images);
  const replacedVariants = listVariantNames(json);
  const supplied = await readSupplied(request, json);
  const finishResults = plan.results.flatMap((result, index) =>
    result.kind === 'finish' && supplied.byResult[index] === null
      ? [{ result, index, finish: findFinish(result, request) }]
      : [],
  );
  const normals = await layNormals(finishResults, request, container, maps);
  const kept = new Array<KeptFromPart | null>(plan.results.length).fill(null);
  finishResults.forEach(({ result, index, finish }, k) => {
    const source = json.materials?.[result.sourceMaterial ?? -1];
    kept[index] = readKept(source, result, finish, normals.laid[k] === 'part');
  });
  const bodies = listDoubleSidedBodies(finishResults, json);
  const alphas = await readAlphas(request.sourcePath, container, kept, maps);
  const details = await levelDetails(request.sourcePath, container, kept, maps);
  const items = finishResults.map(({ result, index, finish }, k) =>
    toKitItem(result, finish, kept[index]!, alphas, normals.laid[k]!),
  );
  const alike = findAlike(
    finishResults.map(({ result }) => result),
    items,
  );
  const made = alike.flatMap((first, k) => (first === k ? [k] : []));
  const kit = await makeFinishKit(
    made.map((k) => items[k]!),
    request.readMap,
    maps,
  );

  const usedMaterials = listUsedMaterials(json, request);
  const keptTextures = kept
    .flatMap((part) => [
      part?.normalTexture?.index,
      part?.occlusionTexture?.index,
      part?.detail && keyDetail(part.detail) === null ? part.detail.texture.index : undefined,
      part?.wear?.texture.index,
    ])
    .filter((index) => index !== undefined);
  for (const [texture, bytes] of alphas) if (bytes === 'as it is') keptTextures.push(texture);
  const live = findLiveObjects(json, usedMaterials, keptTextures);
  const deadBytes = live.everything && container.bin ? countHeldBack(container, usedMaterials, keptTextures) : 0;
  // without a BIN chunk buffer 0 is a data URI, of which nothing is cut
  const cuts = container.bin ? planCuts(json, live.freedViews) : [];
  const sourceLength = container.bin?.length ?? 0;
  const leftOut = cuts.reduce((sum, cut) => sum + cut.end - cut.start, 0);
  const lengths = new Set([
    ...[kit, ...supplied.kits.values()].flatMap(({ json: { bufferViews = [] } }) =>
      bufferViews.map((v) => v.byteLength),
    ),
    ...[...details.values()].map(({ bytes }) => bytes.length),
    ...[...alphas.values()].flatMap((bytes) => (bytes instanceof Uint8Array ? [bytes.length] : [])),
  ]);
  const known = await digestImagesOfLength(request.sourcePath, container, live.images, lengths);
  moveViews(json, makeShift(cuts));

  const hasBin = container.bin !== null || !json.buffers?.length;
  const merge = new Merge(json, live, sourceLength - leftOut, hasBin, known);
  const kitMaterials = merge.addKit(kit);
  const alphaTextures = new Map<number, number>();
  for (const [texture, bytes] of alphas) {
    if (bytes === 'as it is') alphaTextures.set(texture, texture);
    else if (bytes) alphaTextures.set(texture, merge.addTexture(bytes, 'image/png', json.textures![texture]!));
  }
  const detailTextures = new Map(
    [...details].map(([key, { texture, bytes, mimeType }]) => [
      key,
      merge.addTexture(bytes, mimeType, json.textures![texture]!),
    ]),
  );
  const resultMaterials = new Array<number | null>(plan.results.length);
  made.forEach((k, m) => {
    const { index } = finishResults[k]!;
    const material = kitMaterials[m]!;
    const part = kept[index]!;
    const detailKey = part.detail && keyDetail(part.detail);
    applyKept(
      material,
      part,
      alphaTextures.get(part.alpha?.texture?.index ?? -1) ?? null,
      detailKey === null ? null : detailTextures.get(detailKey)!,
    );
    resultMaterials[index] = merge.materials.add(material);
  });
  alike.forEach((first, k) => {
    resultMaterials[finishResults[k]!.index] = resultMaterials[finishResults[first]!.index]!;
  });
  for (const [key, own] of supplied.kits) {
    const material = merge.materials.add(merge.addKit(own)[0]!);
    supplied.byResult.forEach((wanted, index) => {
      if (wanted === key) resultMaterials[index] = material;
    });
  }
  const mappedResults = new Set(
    plan.primitives.flatMap((primitive) => primitive.mappings.map((mapping) => mapping.result)),
  );
  let bare: number | null = null;
  plan.results.forEach((result, index) => {
    if (result.kind !== 'source') return;
    const mapped = mappedResults.has(index);
    if (result.sourceMaterial === null && mapped) bare ??= merge.materials.add({ name: 'as supplied' });
    resultMaterials[index] = result.sourceMaterial ?? (mapped ? bare : null);
  });

  dressPrimitives(json, keepColours(plan, supplied), resultMaterials);
  merge.finish();
  declareExtensions(json, [kit.json, ...[...supplied.kits.values()].map((own) => own.json)], plan.variants);
  const start = container.bin?.offset ?? 0;
  const ranges = keepRanges(cuts, sourceLength).map((range) => ({
    start: range.start + start,
    end: range.end + start,
  }));
  const through = ranges.reduce((sum, range) => sum + range.end - range.start, 0);
  if (through !== sourceLength - leftOut) throw new Error('the cuts of a delivery do not add up');
  const written = await writeGlb(request.targetPath, json, { path: request.sourcePath, ranges }, merge.appended);
  return {
    ...written,
    modelBytes: sourceLength - leftOut,
    addedImageBytes: merge.imageBytes,
    leftOutBytes: leftOut,
    deadBytes,
    materials: json.materials?.length ?? 0,
    images: json.images?.length ?? 0,
    replacedVariants,
    resultMaterials,
    findings: [
      ...supplied.findings,
      ...listUnevenThickness(plan, (index) => {
        const result = plan.results[index]!;
        return result.kind === 'finish' && supplied.byResult[index] === null ? findFinish(result, request) : null;
      }),
      ...bodies,
      ...listWriteFindings(
        finishResults.map(({ result }) => result),
        items,
        alphas,
        normals.apart,
        deadBytes,
      ),
    ],
  };
}

/** Materials the file will still show: of primitives the plan leaves alone, and of cells without a finish. */
function listUsedMaterials(json: GltfJson, { plan }: WriteRequest): Set<number> {
  const planned = new Set(plan.primitives.map(({ mesh, primitive }) => `${mesh}/${primitive}`));
  const used = new Set<number>();
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach(({ material }, p) => {
      if (material !== undefined && !planned.has(`${m}/${p}`)) used.add(material);
    });
  });
  for (const result of plan.results) {
    if (result.kind === 'source' && result.sourceMaterial !== null) used.add(result.sourceMaterial);
  }
  return used;
}

function countHeldBack({ json }: Container, used: ReadonlySet<number>, kept: readonly number[]): number {
  const trusting = findLiveObjects(json, used, kept, true);
  return planCuts(json, trusting.freedViews).reduce((sum, cut) => sum + cut.end - cut.start, 0);
}
