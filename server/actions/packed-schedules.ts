import { type PackedRows, packRowsSliced, unpackRows } from '../core/schedule/packed-rows.ts';
import type { Schedule, Variant } from '../core/schedule/schedule.ts';
import { SLICE } from '../core/slices.ts';
import { giveTurn, inTurns } from './in-turns.ts';

/** By the schedule that they were made from. */
const packed = new WeakMap<Schedule, Promise<PackedRows>>();

/** The rows of a schedule for another thread, made once, in turns. */
export function packSchedule(schedule: Schedule): Promise<PackedRows> {
  const known = packed.get(schedule);
  if (known) return known;
  const rows = inTurns(packRowsSliced(schedule));
  packed.set(schedule, rows);
  return rows;
}

/** The same where there may be no schedule yet. */
export async function packStanding(schedule: Schedule | null): Promise<PackedRows | null> {
  return schedule && packSchedule(schedule);
}

/** Rows of another thread, in turns. */
export async function unpackSlowly(rows: PackedRows): Promise<Variant[]> {
  const variants: Variant[] = [];
  for (let from = 0; from < rows.codes.length; from += SLICE) {
    if (from > 0) await giveTurn();
    variants.push(...unpackRows(rows, from, from + SLICE));
  }
  return variants;
}
