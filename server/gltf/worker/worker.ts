import type { MessagePort } from 'node:worker_threads';
import type { DeliveryCheck } from '../../core/delivery/delivery.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import type { UsdRequest, UsdWritten } from '../../core/delivery/usd-form.ts';
import type { DeliveredBytes } from '../../core/delivery/weigh-delivery.ts';
import type { LevelTables } from '../../core/finish/level-map.ts';
import type { ConvertedColour, MapFacts } from '../../core/finish/map-image.ts';
import type { ResolvedFinish } from '../../core/finish/resolve-finish.ts';
import type {
  Compressed,
  CompressRequest,
  ExtractRequest,
  MapFile,
  ModelMediaType,
  ModelVariants,
  PartedFile,
  ReadMap,
  ReadVariantsRequest,
  Repaired,
  RepairRequest,
  SamplesRequest,
  Surveyed,
  WriteRequest,
  Written,
} from '../../core/ports/models.ts';
import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';
import { type BakedNormals, combineNormals, type NormalBake } from '../../images/combine-normals.ts';
import { convertToSrgb } from '../../images/convert-to-srgb.ts';
import { type ImageFileFacts, measureImageFile, measureStoredFile } from '../../images/measure-map.ts';
import { levelImage, type Remake, remakeMap } from '../../images/remake-map.ts';
import { useCallbacks } from '../../threads/callbacks.ts';
import { serveTasks } from '../../threads/serve-tasks.ts';
import { compressModel } from '../compress/compress-model.ts';
import { readWholeFile } from '../document/container.ts';
import { checksum, extractVariants } from '../extract/extract-variants.ts';
import { writeSamples } from '../extract/write-samples.ts';
import type { MapMaker } from '../materials/derived-maps.ts';
import { writeFinishMaterial } from '../materials/finish-material.ts';
import { fitToSwatch } from '../materials/supplied/read-supplied.ts';
import { openModel } from '../receive/open-model.ts';
import { repairModel } from '../repair/repair-model.ts';
import { mapPieces } from '../survey/map-pieces.ts';
import { surveyModel } from '../survey/survey-model.ts';
import { writeUsd } from '../usd/write-usd.ts';
import { checkDelivery } from '../validate/check-delivery.ts';
import { validateModel } from '../validate/run-validator.ts';
import { importVariants } from '../variants/import-variants.ts';
import { readDeliveredBytes } from '../weight/read-delivered-bytes.ts';
import { writeVariants } from '../write/write-variants.ts';
import { MAP_CALLBACKS, type MapCallbacks } from './map-callbacks.ts';

/** Runs one heavy task in a thread of its own, so that the service's thread stays free. */
export default serveTasks(run);

async function run(task: Task): Promise<TaskResults[keyof TaskResults]> {
  switch (task.kind) {
    case 'survey':
      return survey(task).catch(blameModel);
    case 'map-pieces':
      return readPieces(task).catch(blameModel);
    case 'repair':
      return repairModel(task.request).catch(blameModel);
    case 'read-variants':
      return importVariants(task.request).catch(blameModel);
    case 'compress':
      return compressModel(task.request);
    case 'weigh':
      return readDeliveredBytes(task.path);
    case 'measure-file':
      return measureImageFile(task.bytes);
    case 'measure-map':
      return measureStoredFile(task.bytes);
    case 'level-image':
      return levelImage(task.bytes, task.tables);
    case 'convert-to-srgb':
      return convertToSrgb(task.bytes);
    case 'combine-normals':
      return combineNormals(task.bake);
    case 'remake-map':
      return remakeMap(task.bytes, task.remake);
    case 'write':
      return withMaps(task.port, (readMap, maps) => writeVariants({ ...task.request, readMap }, maps));
    case 'write-finish':
      return withMaps(task.port, async (readMap, maps) =>
        task.finish.supplied === null
          ? writeFinishMaterial(task.finish, readMap, maps)
          : fitToSwatch((await readMap(task.finish.supplied)).bytes, task.finish.suppliedChange),
      );
    case 'write-samples':
      return withMaps(task.port, (readMap, maps) => writeSamples({ ...task.request, readMap }, maps));
    case 'extract':
      return extractVariants(task.request);
    case 'checksum':
      return checksum(task.path);
    case 'write-usd':
      return writeUsd(task.request);
    case 'check':
      return checkDelivery(task.path, task.sourcePath, task.plan, task.resultMaterials, task.modelBytes);
  }
}

/** Maps come from the caller, who keeps those that are derived for the next file. */
async function withMaps<T>(port: MessagePort, write: (readMap: ReadMap, maps: MapMaker) => Promise<T>): Promise<T> {
  try {
    const { readMap, ...maps } = useCallbacks<MapCallbacks>(port, MAP_CALLBACKS);
    return await write(readMap, maps);
  } finally {
    port.close();
  }
}

async function survey(task: Extract<Task, { kind: 'survey' }>): Promise<TaskResults['survey']> {
  const opened = await openModel(task.path, task.mediaType, task.packedPath);
  const file = readWholeFile(opened.path);
  const { bin } = opened.container;
  const validator = await validateModel(file, opened.container.json);
  const { survey, pieces } = await surveyModel(
    opened.container,
    bin && file.subarray(bin.offset, bin.offset + bin.length),
    validator,
  );
  refuseNotFinite(survey, '');
  refuseNotFinite(pieces, '');
  return { survey, pieces, path: opened.path, packed: opened.packed };
}

async function readPieces({ path, sha256 }: Extract<Task, { kind: 'map-pieces' }>): Promise<Uint8Array> {
  const { container } = await openModel(path, 'model/gltf-binary', '');
  const { json, bin } = container;
  return mapPieces({ json, bin: bin && readWholeFile(path).subarray(bin.offset, bin.offset + bin.length) }, sha256);
}

/** JSON has no infinity. Such a measure would be stored as null, and break code that expects a number. */
function refuseNotFinite(value: unknown, at: string): void {
  if (typeof value === 'number' && !Number.isFinite(value)) {
    throw new Problem('model-unreadable', {
      detail: MODEL_PROBLEMS['model-unreadable'].notFinite(at),
      where: at,
    });
  }
  if (typeof value !== 'object' || value === null) return;
  for (const [key, child] of Object.entries(value)) refuseNotFinite(child, `${at}/${key}`);
}

/** Errors of these kinds come from an unforeseen structure of the model, not from the service. */
function blameModel(error: unknown): never {
  if (!(error instanceof RangeError || error instanceof TypeError)) throw error;
  throw new Problem('model-unreadable', {
    detail: MODEL_PROBLEMS['model-unreadable'].unexpectedShape,
    cause: error,
  });
}

/** Tasks of the worker thread. */
export type Task =
  | { readonly kind: 'survey'; readonly path: string; readonly mediaType: ModelMediaType; readonly packedPath: string }
  | { readonly kind: 'map-pieces'; readonly path: string; readonly sha256: string }
  | { readonly kind: 'repair'; readonly request: RepairRequest }
  | { readonly kind: 'read-variants'; readonly request: ReadVariantsRequest }
  | { readonly kind: 'compress'; readonly request: CompressRequest }
  | { readonly kind: 'weigh'; readonly path: string }
  | { readonly kind: 'measure-file'; readonly bytes: Uint8Array }
  | { readonly kind: 'measure-map'; readonly bytes: Uint8Array }
  | { readonly kind: 'level-image'; readonly bytes: Uint8Array; readonly tables: LevelTables }
  | { readonly kind: 'convert-to-srgb'; readonly bytes: Uint8Array }
  | { readonly kind: 'combine-normals'; readonly bake: NormalBake }
  | { readonly kind: 'remake-map'; readonly bytes: Uint8Array; readonly remake: Remake }
  | { readonly kind: 'write'; readonly request: Omit<WriteRequest, 'readMap'>; readonly port: MessagePort }
  | { readonly kind: 'write-samples'; readonly request: Omit<SamplesRequest, 'readMap'>; readonly port: MessagePort }
  | { readonly kind: 'extract'; readonly request: ExtractRequest }
  | { readonly kind: 'checksum'; readonly path: string }
  | { readonly kind: 'write-usd'; readonly request: UsdRequest }
  | { readonly kind: 'write-finish'; readonly finish: ResolvedFinish; readonly port: MessagePort }
  | {
      readonly kind: 'check';
      readonly path: string;
      readonly sourcePath: string;
      readonly plan: MappingPlan;
      readonly resultMaterials: readonly (number | null)[];
      readonly modelBytes: number;
    };

export interface TaskResults {
  survey: Surveyed;
  'map-pieces': Uint8Array;
  repair: Repaired;
  'read-variants': ModelVariants;
  compress: Compressed;
  weigh: DeliveredBytes;
  'measure-file': ImageFileFacts;
  'measure-map': MapFacts | null;
  'level-image': MapFile;
  'convert-to-srgb': ConvertedColour | null;
  'combine-normals': BakedNormals;
  'remake-map': Uint8Array | null;
  write: Written;
  'write-usd': UsdWritten;
  'write-finish': Uint8Array;
  'write-samples': { readonly sha256: string; readonly bytes: number };
  extract: PartedFile & { readonly digest: string };
  checksum: string;
  check: DeliveryCheck[];
}
