import type { Mount } from '../picture/picture.ts';

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
