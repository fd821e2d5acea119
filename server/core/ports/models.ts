import type { CompressedForm, FormLoss } from '../delivery/compressed-form.ts';
import type { DeliveryCheck, FileSizes } from '../delivery/delivery.ts';
import type { MappingPlan } from '../delivery/mapping-plan.ts';
import type { UsdRequest, UsdWritten } from '../delivery/usd-form.ts';
import type { DeliveredBytes } from '../delivery/weigh-delivery.ts';
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
  /** Path of the GLB: the given file, or a new temporary one when it had to be packed. */
  readonly path: string;
  readonly packed: boolean;
}

/** Number of pieces listed with a survey; a model with more is foliage or a scan, and nobody picks from such a list. */
export const PIECE_LIMIT = 20_000;

export type RepairMode = 'strict' | 'lenient' | 'replay';

export interface RepairRequest {
  readonly sourcePath: string;
  readonly targetPath: string;
  readonly repairs: readonly Repair[];
  /**
   * `strict`: the first repair that does not fit, or that would lose something not accepted, refuses all, with Problem
   * `repair-unfit` or `repair-would-lose`. `lenient`: such a repair is reported and skipped, as in a preview. `replay`:
   * like `lenient`, and a material may have another name where the model has only one.
   */
  readonly mode: RepairMode;
}

export interface Repaired {
  readonly sha256: string;
  readonly bytes: number;
  /** One for every requested repair, in order. */
  readonly reports: readonly RepairReport[];
  /** For every material of the result, the material of the source that it was or was made from; null for a new one. */
  readonly materialOrigins: readonly (number | null)[];
}

export interface ReadVariantsRequest {
  readonly sourcePath: string;
  /** The survey's report on the model's images: materials come without images that no viewer can show. */
  readonly images: Survey['images'];
  /** Written only where the model must change; see `ModelVariants.split`. */
  readonly targetPath: string;
  /** Primitives that are drawn and have slots. */
  readonly primitives: readonly { readonly mesh: number; readonly primitive: number }[];
}

/** The variants that a model contains. */
export interface ModelVariants {
  /** Names in the file, which may be empty or repeated. */
  readonly variants: readonly string[];
  /** One for every material that becomes a slot, and the materials of its primitives. */
  readonly parts: readonly VariantPart[];
  /** The materials of the varying parts, each once, in the file's order. */
  readonly materials: readonly VariantMaterial[];
  /**
   * A changed model at `targetPath`, in which parts of one material that change differently have their own materials;
   * null when the model can stay as it is.
   */
  readonly split: Omit<Repaired, 'reports'> | null;
  /** Number of primitives with variants that are not among the requested ones. */
  readonly leftOut: number;
}

/** Materials by index; null is glTF's default material. */
export interface VariantPart {
  /** In the model after the split. */
  readonly material: number | null;
  /** Shown before a choice; in the model before the split, like all fields below. */
  readonly own: number | null;
  readonly byVariant: readonly (number | null)[];
  readonly varies: boolean;
}

export interface VariantMaterial {
  readonly index: number;
  readonly name: string;
  readonly extensions: readonly string[];
  /** A GLB that contains only this material. */
  readonly bytes: Uint8Array;
  readonly sha256: string;
}

/** An image that a finish refers to, or the GLB of a supplied material. */
export interface MapFile {
  readonly bytes: Uint8Array;
  readonly mimeType: string;
}

/**
 * Reads an uploaded image or a supplied material by digest.
 * @param contrast re-encodes a colour map at one of `CONTRASTS`; left out, the bytes are the uploaded ones
 */
export type ReadMap = (sha256: string, contrast?: number) => Promise<MapFile>;

/** The paths of a file that a plan writes, and the plan. */
type WritePaths = Pick<WriteRequest, 'sourcePath' | 'targetPath' | 'plan'>;

export interface WriteRequest {
  readonly sourcePath: string;
  readonly targetPath: string;
  /** The survey's report on the model's images: the file is written without images that no viewer can show. */
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

/** A file with some variants of a delivered one; see `planExtract`. */
export interface ExtractRequest {
  readonly path: string;
  /** Indices in the file, ascending; at least one. */
  readonly variants: readonly number[];
  /** The one that is shown before a choice. */
  readonly first: number;
  /** False: a file of the first variant alone, without `KHR_materials_variants`. */
  readonly withExtension: boolean;
  /** What to compute of the whole content. */
  readonly digest: 'sha256' | 'crc32' | null;
}

/** A file with a sample of each finish; see `writeSamples`. */
export interface SamplesRequest {
  readonly finishes: readonly ResolvedFinish[];
  readonly targetPath: string;
  readonly readMap: ReadMap;
}

/** A file in parts: new bytes, then ranges of a stored file, then zeros. */
export interface PartedFile {
  readonly head: Uint8Array;
  readonly path: string;
  readonly ranges: readonly { readonly start: number; readonly end: number }[];
  readonly padding: number;
  readonly bytes: number;
}

export interface CompressRequest {
  readonly sourcePath: string;
  readonly targetPath: string;
  readonly form: CompressedForm;
}

export interface Compressed {
  readonly sha256: string;
  readonly bytes: number;
  readonly loss: FormLoss;
}

/** Whose work a step is, and when nobody wants it any more. */
export interface ModelWork {
  /** Steps of one product take turns with those of others. */
  readonly product?: string;
  /** Ends the step: its caller has left. */
  readonly signal?: AbortSignal | undefined;
}

/**
 * glTF bytes in and out. Steps run in threads, each with a limit of time and memory.
 * Reading refuses an unreadable file with a Problem (`model-…`, `archive-…`), and a step too many with `queue-full`; everything else is a finding.
 * Writing streams the source's bytes through unchanged, is deterministic, and leaves `targetPath` synced.
 */
export interface Models {
  survey(path: string, mediaType: ModelMediaType, work?: ModelWork): Promise<Surveyed>;
  /** The packed piece map of a stored model, with the pieces of its survey; see `packPieceMap`. */
  mapPieces(path: string, sha256: string, work?: ModelWork): Promise<Uint8Array>;
  /** Makes repairs one after the other; the target is valid only if all succeed. Never changes the source. */
  repair(request: RepairRequest, work?: ModelWork): Promise<Repaired>;
  /**
   * Reads the variants that a model contains; writes a model only where parts must be told apart. Never changes the
   * source.
   */
  readVariants(request: ReadVariantsRequest, work?: ModelWork): Promise<ModelVariants>;
  /** Whether a file is a GLB with one material and no geometry, as `readVariants` makes them. */
  holdsMaterial(path: string): Promise<boolean>;
  /** Coverage and transmission of such a material. */
  readCover(path: string): Promise<SuppliedCover>;
  write(request: WriteRequest, work?: ModelWork): Promise<Written>;
  /**
   * Reads a written file back independently: with the validator, another parser, and a check of the extension's rules.
   */
  check(request: WritePaths, written: Written, work?: ModelWork): Promise<readonly DeliveryCheck[]>;
  /** Writes a compressed form of a delivered file, reads it back, and measures what it lost. Never changes the source. */
  compress(request: CompressRequest, work?: ModelWork): Promise<Compressed>;
  /** What the bytes of a delivered file are for. */
  weigh(path: string, work?: ModelWork): Promise<DeliveredBytes>;
  /**
   * Plans a file with some variants of a delivered one. Nothing is written: the delivered file has all its bytes but the head.
   * @returns the digest in lower-case hex; empty when none was asked for
   */
  extract(request: ExtractRequest, work?: ModelWork): Promise<PartedFile & { readonly digest: string }>;
  /** Writes a GLB with a plate for each finish, named by its code and name. */
  writeSamples(request: SamplesRequest, work?: ModelWork): Promise<{ readonly sha256: string; readonly bytes: number }>;
  /** CRC-32 of a whole file, as zips state it; lower-case hex. */
  checksum(path: string, work?: ModelWork): Promise<string>;
  /**
   * Writes a delivered file, or one variant of it, as a USDZ package. The same request gives the same bytes; the target is synced.
   * Throws Problem `usd-too-large`, `usd-nothing-to-show`.
   */
  writeUsd(request: UsdRequest, work?: ModelWork): Promise<UsdWritten>;
  /** Writes a GLB of a single finish: material 0, with maps at 1 m per UV unit. */
  writeFinishGlb(finish: ResolvedFinish, readMap: ReadMap, work?: ModelWork): Promise<Uint8Array>;
}
