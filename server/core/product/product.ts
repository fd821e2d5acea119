import type { Mount } from '../picture/picture.ts';
import { Problem } from '../problems.ts';
import type { Repair, RepairReport } from '../repair/repair.ts';
import { MODEL_PROBLEMS } from '../texts/problems/model.ts';

/** Classes with plausible sizes; `none` may have any size that products have. */
export const CLASSES = [
  'dining-chair',
  'armchair',
  'stool',
  'bar-stool',
  'sofa',
  'dining-table',
  'coffee-table',
  'desk',
  'bed',
  'table-lamp',
  'floor-lamp',
  'pendant-lamp',
  'mug',
  'bottle',
  'plate',
  'none',
] as const;
export type ProductClass = (typeof CLASSES)[number];

/** Dimensions by the maker's data sheet, in mm. */
export interface Sheet {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}

/** One thing that is sold. */
export interface Product {
  readonly code: string;
  readonly name: string;
  readonly line: string | null;
  readonly class: ProductClass;
  readonly mount: Mount;
  readonly sheet: Sheet | null;
  /** Name of the budget its model is held against. */
  readonly budget: string;
}

/** One revision of a product's model; the bytes are stored under `sha256`. */
export interface ModelRevision {
  /** From 1, counted per product. */
  readonly revision: number;
  readonly sha256: string;
  readonly bytes: number;
  /** Digest of what was received, when that was a zip or a `.gltf` that was packed on arrival. */
  readonly receivedSha256: string | null;
  readonly origin: RevisionOrigin;
  /** ISO 8601; empty for revisions from before it was recorded. */
  readonly createdAt: string;
}

/** The origin of a revision. */
export type RevisionOrigin =
  | { readonly kind: 'received' }
  | {
      readonly kind: 'repaired';
      /** The revision that was repaired. */
      readonly from: number;
      /** The revision as it was received, which all repairs since began from. */
      readonly received: number;
      /** The outcomes of the repairs between `from` and this one. */
      readonly reports: readonly RepairReport[];
      /** All repairs since `received`, in order: the preparation that leads here. */
      readonly preparation: readonly Repair[];
    };

type Revision = Pick<ModelRevision, 'revision' | 'origin'>;

/** The revision as it was received that a revision was made from, which may be itself. */
export function receivedRevisionOf({ revision, origin }: Revision): number {
  return origin.kind === 'repaired' ? origin.received : revision;
}

/** The repairs between the received model and a revision; empty for a received one. */
export function preparationOf(model: Pick<Revision, 'origin'> | null): readonly Repair[] {
  return model?.origin.kind === 'repaired' ? model.origin.preparation : [];
}

export function unknownRevision(revision: number): Problem {
  return new Problem('unknown-revision', {
    detail: MODEL_PROBLEMS['unknown-revision'](revision),
    received: revision,
  });
}
