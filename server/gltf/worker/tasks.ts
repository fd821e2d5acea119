import type { DeliveryCheck } from '../../core/delivery/delivery.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import type { LevelTables } from '../../core/finish/level-map.ts';
import type { ConvertedColour, MapFacts } from '../../core/finish/map-image.ts';
import type {
  MapFile,
  ModelMediaType,
  Repaired,
  RepairRequest,
  Surveyed,
  TakeInRequest,
  TakenIn,
} from '../../core/ports/models.ts';
import type { BakedNormals, NormalBake } from '../../images/combine-normals.ts';
import type { ImageFileFacts } from '../../images/measure-map.ts';
import type { Remake } from '../../images/remake-map.ts';

/** What the worker thread can be asked to do. */
export type Task =
  | { readonly kind: 'survey'; readonly path: string; readonly mediaType: ModelMediaType; readonly packedPath: string }
  | { readonly kind: 'repair'; readonly request: RepairRequest }
  | { readonly kind: 'take-in'; readonly request: TakeInRequest }
  | { readonly kind: 'measure-file'; readonly bytes: Uint8Array }
  | { readonly kind: 'measure-map'; readonly bytes: Uint8Array }
  | { readonly kind: 'level-image'; readonly bytes: Uint8Array; readonly tables: LevelTables }
  | { readonly kind: 'convert-to-srgb'; readonly bytes: Uint8Array }
  | { readonly kind: 'combine-normals'; readonly bake: NormalBake }
  | { readonly kind: 'remake-map'; readonly bytes: Uint8Array; readonly remake: Remake }
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
  repair: Repaired;
  'take-in': TakenIn;
  'measure-file': ImageFileFacts;
  'measure-map': MapFacts | null;
  'level-image': MapFile;
  'convert-to-srgb': ConvertedColour | null;
  'combine-normals': BakedNormals;
  'remake-map': Uint8Array | null;
  check: DeliveryCheck[];
}
