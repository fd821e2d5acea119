import type { ProductClass } from './product.ts';

type Range = readonly [number, number];

/** Plausible sizes in metres: height, width, depth. */
export interface SizeClass {
  readonly height: Range;
  readonly width: Range;
  readonly depth: Range;
}

/**
 * Plausible overall sizes by class, in metres.
 * A derived union of handbook and supplier tables (EN 1729-1 and BIFMA seat heights, furniture and lamp guides), widened
 * by judgement: ranges that warn, never a statement of compliance. `stool` and `pendant-lamp` are common practice.
 */
export const SIZE_CLASSES: Readonly<Record<Exclude<ProductClass, 'none'>, SizeClass>> = {
  'dining-chair': { height: [0.7, 1.2], width: [0.36, 0.7], depth: [0.38, 0.75] },
  armchair: { height: [0.6, 1.25], width: [0.55, 1.2], depth: [0.55, 1.2] },
  stool: { height: [0.4, 0.5], width: [0.25, 0.6], depth: [0.25, 0.6] },
  'bar-stool': { height: [0.6, 1.2], width: [0.3, 0.6], depth: [0.3, 0.6] },
  sofa: { height: [0.55, 1.1], width: [1.2, 3.6], depth: [0.7, 1.8] },
  'dining-table': { height: [0.68, 0.8], width: [0.6, 3.6], depth: [0.6, 1.6] },
  'coffee-table': { height: [0.25, 0.56], width: [0.4, 1.6], depth: [0.4, 1.2] },
  desk: { height: [0.6, 1.3], width: [0.7, 2.4], depth: [0.45, 1.1] },
  bed: { height: [0.25, 1.8], width: [0.75, 2.2], depth: [1.8, 2.4] },
  'table-lamp': { height: [0.2, 0.95], width: [0.08, 0.6], depth: [0.08, 0.6] },
  'floor-lamp': { height: [1.1, 2.4], width: [0.15, 1.2], depth: [0.15, 1.5] },
  'pendant-lamp': { height: [0.1, 2.5], width: [0.15, 0.8], depth: [0.15, 0.8] },
  mug: { height: [0.06, 0.14], width: [0.06, 0.16], depth: [0.06, 0.12] },
  bottle: { height: [0.15, 0.4], width: [0.05, 0.12], depth: [0.05, 0.12] },
  plate: { height: [0.005, 0.06], width: [0.14, 0.35], depth: [0.14, 0.35] },
};

/** Factors that bring a file written in another unit to metres, and back. */
export const UNIT_FACTORS = [
  { unit: 'mm', factor: 0.001 },
  { unit: 'cm', factor: 0.01 },
  { unit: 'inch', factor: 0.0254 },
  { unit: 'foot', factor: 0.3048 },
  { unit: 'metres read as mm', factor: 1000 },
] as const;
