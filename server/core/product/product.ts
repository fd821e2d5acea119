import type { Mount } from '../picture/picture.ts';
import { Problem } from '../problems.ts';
import type { Repair, RepairReport } from '../repair/repair.ts';
import { MODEL_PROBLEMS } from '../texts/problems/model.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';

/** Classes with plausible sizes; `none` allows any product size. */
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

/** Dimensions from the maker's data sheet, in mm. */
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
  /** Name of the budget that applies to its model. */
  readonly budget: string;
  /** Template of the SKUs of its variants; absent: the product and the finishes. */
  readonly skuTemplate?: string;
}

/** One revision of a product's model; the bytes are stored under `sha256`. */
export interface ModelRevision {
  /** From 1, counted per product. */
  readonly revision: number;
  readonly sha256: string;
  readonly bytes: number;
  /** Digest of the received zip or `.gltf` that was packed on arrival. */
  readonly receivedSha256: string | null;
  readonly origin: RevisionOrigin;
  /** ISO 8601; empty for revisions older than this field. */
  readonly createdAt: string;
}

/** The origin of a revision. */
export type RevisionOrigin =
  | { readonly kind: 'received' }
  | {
      readonly kind: 'repaired';
      /** The revision that was repaired. */
      readonly from: number;
      /** The received revision that all repairs since started from. */
      readonly received: number;
      /** The outcomes of the repairs between `from` and this one. */
      readonly reports: readonly RepairReport[];
      /** All repairs since `received`, in order: the preparation that leads here. */
      readonly preparation: readonly Repair[];
    };

type Revision = Pick<ModelRevision, 'revision' | 'origin'>;

/** The received revision that this one comes from, possibly itself. */
export function receivedRevisionOf({ revision, origin }: Revision): number {
  return origin.kind === 'repaired' ? origin.received : revision;
}

/** The repairs between the received model and a revision. Empty for a received one. */
export function preparationOf(model: Pick<Revision, 'origin'> | null): readonly Repair[] {
  return model?.origin.kind === 'repaired' ? model.origin.preparation : [];
}

export function deletedProduct(code: string): Problem {
  return new Problem('unknown-product', { detail: PRODUCT_PROBLEMS['unknown-product'].deleted, received: code });
}

export function unknownRevision(revision: number): Problem {
  return new Problem('unknown-revision', {
    detail: MODEL_PROBLEMS['unknown-revision'](revision),
    received: revision,
  });
}
