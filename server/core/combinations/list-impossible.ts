import { explainConflict } from '../schedule/explain-conflict.ts';
import { sayConflict } from '../schedule/say-conflict.ts';
import { listOpen } from './list-open.ts';
import type { Choice } from './pair-compatibility.ts';
import type { PairTable } from './pair-table.ts';

/** A finish that no valid combination holds, and why. */
export interface ImpossibleChoice extends Choice {
  readonly because: string;
}

export interface Impossible {
  /** Why there is no valid combination at all; null when there is one, or that was not settled. */
  readonly none: string | null;
  /** Finishes that are in no valid combination; empty when nothing is. */
  readonly choices: readonly ImpossibleChoice[];
  /** How many more there are than are listed. */
  readonly more: number;
}

/** Explanations given at most: a rule that shuts out hundreds says the same of each. */
const MAX_LISTED = 40;

/** The choices that rules leave nothing for: they are offered, and can never be sold. */
export function listImpossible(table: PairTable, limit = MAX_LISTED): Impossible {
  const { open } = listOpen(table, new Map());
  if (table.columns.length > 0 && open.every((finishes) => finishes.length === 0)) {
    const conflict = explainConflict(table, new Map());
    return { none: conflict && sayConflict(table, conflict), choices: [], more: 0 };
  }
  const shut = table.columns.flatMap(({ finishes }, column) => {
    const possible = new Set(open[column]);
    return [...finishes.keys()].flatMap((finish) => (possible.has(finish) ? [] : [{ column, finish }]));
  });
  const choices = shut.slice(0, limit).flatMap((choice) => {
    const conflict = explainConflict(table, new Map([[choice.column, choice.finish]]));
    return conflict ? [{ ...choice, because: sayConflict(table, conflict) }] : [];
  });
  return { none: null, choices, more: shut.length - choices.length };
}
