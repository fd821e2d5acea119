import type { DeliveryCheck, FileSizes } from '../delivery/delivery.ts';
import type { MappingPlan } from '../delivery/mapping-plan.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import type { Finding } from '../product/finding.ts';
import type { Survey } from '../product/survey.ts';

export type ModelMediaType = 'model/gltf-binary' | 'model/gltf+json' | 'application/zip';

export interface Surveyed {
  readonly survey: Survey;
  /** Where the GLB is: the file given, or a new temporary one when it had to be packed. */
  readonly path: string;
  readonly packed: boolean;
}

/** An image a finish refers to. */
export interface MapFile {
  readonly bytes: Uint8Array;
  readonly mimeType: string;
}

export interface WriteRequest {
  readonly sourcePath: string;
  readonly targetPath: string;
  readonly plan: MappingPlan;
  /** By folded finish code. */
  readonly finishes: ReadonlyMap<string, ResolvedFinish>;
  readonly readMap: (sha256: string) => Promise<MapFile>;
}

export interface Written extends FileSizes {
  readonly sha256: string;
  readonly bytes: number;
  readonly replacedVariants: readonly string[];
  /** Material index of every result of the plan, in its order; null is glTF's default material. */
  readonly resultMaterials: readonly (number | null)[];
  readonly findings: readonly Finding[];
}

/**
 * glTF bytes in and out.
 * Reading refuses what cannot be read with a Problem (`model-…`, `archive-…`); all else is a finding.
 * Writing streams the source's bytes through unchanged, is deterministic, and leaves `targetPath` synced.
 */
export interface Models {
  survey(path: string, mediaType: ModelMediaType): Promise<Surveyed>;
  write(request: WriteRequest): Promise<Written>;
  /** Reads a written file back with other eyes: validator, another parser, and a look at the extension's rules. */
  check(path: string, plan: MappingPlan, written: Written): Promise<readonly DeliveryCheck[]>;
  /** A GLB of one finish alone, material 0, its maps laid at 1 UV unit = 1 m. */
  makeKit(finish: ResolvedFinish, readMap: (sha256: string) => Promise<MapFile>): Promise<Uint8Array>;
}
