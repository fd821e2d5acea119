import type { DeliveryCheck, FileSizes } from '../delivery/delivery.ts';
import type { MappingPlan } from '../delivery/mapping-plan.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import type { SuppliedCover } from '../picture/plan-layers.ts';
import type { Finding } from '../product/finding.ts';
import type { Piece, Survey } from '../product/survey.ts';
import type { Repair, RepairReport } from '../repair/repair.ts';

export type ModelMediaType = 'model/gltf-binary' | 'model/gltf+json' | 'application/zip';

export interface Surveyed {
  readonly survey: Survey;
  /** Largest first, at most `PIECE_LIMIT`. */
  readonly pieces: readonly Piece[];
  /** Where the GLB is: the file given, or a new temporary one when it had to be packed. */
  readonly path: string;
  readonly packed: boolean;
}

/** Pieces listed with a survey; a model of more is foliage or a scan, and no person picks from such a list. */
export const PIECE_LIMIT = 20_000;

export type RepairMode = 'strict' | 'lenient' | 'replay';

export interface RepairRequest {
  readonly sourcePath: string;
  readonly targetPath: string;
  readonly repairs: readonly Repair[];
  /**
   * `strict`: the first repair that does not fit, or would lose something not accepted, refuses all, with Problem
   * `repair-unfit` or `repair-would-lose`. `lenient`: such a repair is reported and left out, as in a preview. `replay`: the
   * same, and a material may be called otherwise by now where the model has but one.
   */
  readonly mode: RepairMode;
}

export interface Repaired {
  readonly sha256: string;
  readonly bytes: number;
  /** One for every repair asked for, in order. */
  readonly reports: readonly RepairReport[];
  /** For every material of the result the material of the source it was, or was made from; null for a new one. */
  readonly materialOrigins: readonly (number | null)[];
}

export interface ReadVariantsRequest {
  readonly sourcePath: string;
  /** What the survey says of the model's images: materials come without images that no viewer can show. */
  readonly images: Survey['images'];
  /** Written to only where the model must be changed; see `ModelVariants.split`. */
  readonly targetPath: string;
  /** Those that are drawn and have slots. */
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
}

/** The variants a model carries. */
export interface ModelVariants {
  /** Names as the file has them, which may be empty or alike. */
  readonly variants: readonly string[];
  /** One for every material that is to be a slot, and what its primitives wear. */
  readonly parts: readonly VariantPart[];
  /** Those the varying parts wear, each once, in the file's order. */
  readonly materials: readonly VariantMaterial[];
  /**
   * A changed model at `targetPath`, in which parts of one material that change differently have materials of their own;
   * null when the model can stay as it is.
   */
  readonly split: Omit<Repaired, 'reports'> | null;
  /** Primitives with variants that are not among those asked for. */
  readonly leftOut: number;
}

/** Materials by index; null is glTF's default material. */
export interface VariantPart {
  /** In the model after the split. */
  readonly material: number | null;
  /** Shown before a choice; in the model before the split, as all below. */
  readonly own: number | null;
  readonly byVariant: readonly (number | null)[];
  readonly varies: boolean;
}

export interface VariantMaterial {
  readonly index: number;
  readonly name: string;
  readonly extensions: readonly string[];
  /** A GLB that holds it alone. */
  readonly bytes: Uint8Array;
  readonly sha256: string;
}

/** An image a finish refers to, or the GLB of a supplied material. */
export interface MapFile {
  readonly bytes: Uint8Array;
  readonly mimeType: string;
}

/**
 * Reads an uploaded image or a supplied material by digest.
 * @param contrast re-encodes a colour map at one of `CONTRASTS`; left out, the bytes are the uploaded ones
 */
export type ReadMap = (sha256: string, contrast?: number) => Promise<MapFile>;

/** A file that is or was written by a plan, and of what. */
export type WritePaths = Pick<WriteRequest, 'sourcePath' | 'targetPath' | 'plan'>;

export interface WriteRequest {
  readonly sourcePath: string;
  readonly targetPath: string;
  /** What the survey says of the model's images: the file is written without images that no viewer can show. */
  readonly images: Survey['images'];
  readonly plan: MappingPlan;
  /** By folded finish code. */
  readonly finishes: ReadonlyMap<string, ResolvedFinish>;
  readonly readMap: ReadMap;
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
  /** Makes repairs one after the other; writes nothing of use unless all went well. Never changes the source. */
  repair(request: RepairRequest): Promise<Repaired>;
  /** Reads the variants a model carries; writes a model only where parts must be told apart. Never changes the source. */
  readVariants(request: ReadVariantsRequest): Promise<ModelVariants>;
  /** Whether a file is a GLB that holds one material and nothing to be drawn, as `readVariants` makes them. */
  holdsMaterial(path: string): Promise<boolean>;
  /** How such a material covers and passes light. */
  readCover(path: string): Promise<SuppliedCover>;
  write(request: WriteRequest): Promise<Written>;
  /** Reads a written file back with other eyes: validator, another parser, and a look at the extension's rules. */
  check(request: WritePaths, written: Written): Promise<readonly DeliveryCheck[]>;
  /** Writes a GLB of one finish alone: material 0, with maps at 1 m per UV unit. */
  writeFinishGlb(finish: ResolvedFinish, readMap: ReadMap): Promise<Uint8Array>;
}
