import { Vector3 } from 'three';
import { FLOOR_RADIANCE, getRadiance } from './softboxes.ts';

/** Cells of the sampling table: 4° by equal steps of sin(elevation), fine against the smallest softbox. */
const COLUMNS = 90;
const ROWS = 45;

/**
 * Directions towards the light above the horizon, drawn in proportion to radiance from a fixed two-dimensional
 * low-discrepancy sequence. Bright boxes get many and the dim room few, and each direction has the same share of the
 * light. Every aligned block of 2^n directions is well spread by itself, so one block serves one subsample.
 */
export function listLightDirections(count: number): readonly Vector3[] {
  const { rows, cells } = getTable();
  return Array.from({ length: count }, (_, index) => {
    const [u, v] = [vanDerCorput(index), sobol(index)];
    const row = locate(rows, v);
    const column = locate(cells[row.index]!, u);
    const y = (row.index + row.within) / ROWS;
    const azimuth = ((column.index + column.within) / COLUMNS) * 2 * Math.PI;
    const ring = Math.sqrt(1 - y * y);
    return new Vector3(ring * Math.sin(azimuth), y, ring * Math.cos(azimuth));
  });
}

/**
 * The weight of the floor's light against one direction: the irradiance of a surface from a white floor that fills its
 * hemisphere, in units of the irradiance from one of `count` directions at normal incidence.
 */
export function getFloorWeight(count: number): number {
  return (count * Math.PI * FLOOR_RADIANCE) / getTable().power;
}

interface Table {
  /** Running sums to 1, over rows and within each row. */
  readonly rows: Float64Array;
  readonly cells: readonly Float64Array[];
  /** Radiance integrated over the upper half of the sphere, in steradians. */
  readonly power: number;
}

let table: Table | undefined;

function getTable(): Table {
  table ??= buildTable();
  return table;
}

function buildTable(): Table {
  const rows = new Float64Array(ROWS);
  const cells: Float64Array[] = [];
  let total = 0;
  for (let row = 0; row < ROWS; row++) {
    const y = (row + 0.5) / ROWS;
    const ring = Math.sqrt(1 - y * y);
    const cell = new Float64Array(COLUMNS);
    let sum = 0;
    for (let column = 0; column < COLUMNS; column++) {
      const azimuth = ((column + 0.5) / COLUMNS) * 2 * Math.PI;
      cell[column] = sum += getRadiance(ring * Math.sin(azimuth), y, ring * Math.cos(azimuth));
    }
    for (let column = 0; column < COLUMNS; column++) cell[column]! /= sum;
    cells.push(cell);
    rows[row] = total += sum;
  }
  for (let row = 0; row < ROWS; row++) rows[row]! /= total;
  return { rows, cells, power: (total * 2 * Math.PI) / (ROWS * COLUMNS) };
}

function locate(sums: Float64Array, value: number): { index: number; within: number } {
  let index = 0;
  while (index < sums.length - 1 && sums[index]! < value) index++;
  const from = index === 0 ? 0 : sums[index - 1]!;
  const share = sums[index]! - from;
  return { index, within: share > 0 ? Math.min(Math.max((value - from) / share, 0), 1) : 0.5 };
}

/** First dimension: the bits of the index mirrored. Offset by half a step of 2^-12, so that no sample is at 0. */
export function vanDerCorput(index: number): number {
  return (reverse(index) + 0.5 ** 13) % 1;
}

/** Second dimension of Sobol's sequence; with the first it forms a (0,2)-sequence. */
export function sobol(index: number): number {
  let value = 0;
  let direction = 0x80000000;
  for (let rest = index; rest > 0; rest >>>= 1) {
    if (rest & 1) value ^= direction;
    direction ^= direction >>> 1;
  }
  return ((value >>> 0) / 0x100000000 + 0.5 ** 13) % 1;
}

function reverse(index: number): number {
  let value = 0;
  let step = 0.5;
  for (let rest = index; rest > 0; rest >>>= 1) {
    if (rest & 1) value += step;
    step /= 2;
  }
  return value;
}
