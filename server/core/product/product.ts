import type { Mount } from '../picture/picture.ts';

/** Classes with plausible sizes; `none` says nothing about size. */
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
}

/** One revision of a product's model; the bytes are stored under `sha256`. */
export interface ModelRevision {
  /** From 1, counted per product. */
  readonly revision: number;
  readonly sha256: string;
  readonly bytes: number;
  /** Digest of what was received, when that was a zip or a `.gltf` that was packed on arrival. */
  readonly receivedSha256: string | null;
}
