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
 * by judgement: ranges that warn, never a statement of compliance. `pendant-lamp`, and all footprints of `stool`, are
 * common practice.
 */
export const SIZE_CLASSES: Readonly<Record<Exclude<ProductClass, 'none'>, SizeClass>> = {
  // from BIFMA G1's lowest seat and shortest backrest, 381 + 310 mm
  'dining-chair': { height: [0.68, 1.2], width: [0.36, 0.7], depth: [0.38, 0.75] },
  armchair: { height: [0.6, 1.25], width: [0.55, 1.2], depth: [0.55, 1.2] },
  // EN 1729-1 seats of marks 4 to 7 (380–510 mm) and BIFMA G1's range (381–505 mm); children's stools are lower
  stool: { height: [0.38, 0.51], width: [0.25, 0.6], depth: [0.25, 0.6] },
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

/**
 * Sizes, in metres, of anything that is made and sold, for products of no class. At most what a road vehicle carries in one
 * piece, however it is turned: 12 m long, 4 m high and 2.55 m wide (Council Directive 96/53/EC, rigid vehicles). At least
 * the size of a shirt button, 5 mm along its longest side (common practice). What is put up from parts on site may be
 * larger; its data sheet then decides.
 */
export const ANY_PRODUCT = { sides: [12, 4, 2.55], longestAtLeast: 0.005 } as const;

/**
 * Units a file may have been written in, by the factor that brings it to metres; then the reverse: metres that an exporter
 * took for that unit and made metres of once more.
 */
export const UNIT_FACTORS = [
  { unit: 'mm', factor: 0.001 },
  { unit: 'cm', factor: 0.01 },
  { unit: 'inch', factor: 0.0254 },
  { unit: 'foot', factor: 0.3048 },
  { unit: 'metres taken for mm', factor: 1000 },
  { unit: 'metres taken for cm', factor: 100 },
  { unit: 'metres taken for inch', factor: 1 / 0.0254 },
  { unit: 'metres taken for foot', factor: 1 / 0.3048 },
] as const;
