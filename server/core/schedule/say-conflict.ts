import type { Choice } from '../combinations/pair-compatibility.ts';
import type { PairTable } from '../combinations/pair-table.ts';
import type { Conflict, ConflictStep, Removal } from './explain-conflict.ts';

/** Finishes left are named up to this many, and counted beyond. */
const MAX_NAMED = 3;

/**
 * A conflict in a sentence, for example:
 * “No finish is left for Cord because Shade FEL-110 excludes 3 of its finishes and Body KLN-104 the other 2.”
 */
export function sayConflict(table: PairTable, conflict: Conflict): string {
  const { choices, steps } = conflict;
  const final = steps.at(-1);
  if (!final) {
    if (choices.length === 0) return 'No combination is valid under these rules.';
    return `No valid combination holds ${joinWords(choices.map((choice) => sayChoice(table, choice)))}.`;
  }
  const chosen = choices.find(({ column }) => column === final.column);
  const [only] = final.removedBy;
  if (!only) return `${table.columns[final.column]!.label} has no finishes to choose from.`;
  if (chosen && only.finish !== null) {
    const pair = [{ column: only.column, finish: only.finish }, chosen].sort((a, b) => a.column - b.column);
    return `${joinWords(pair.map((choice) => sayChoice(table, choice)))} may not meet.`;
  }
  const because = sayRemovals(table, final, steps);
  const start = chosen
    ? `${sayChoice(table, chosen)} cannot stay because ${because}`
    : `No finish is left for ${table.columns[final.column]!.label} because ${because}`;
  const before = steps.slice(0, -1).map((step) => `${sayLeft(table, step)} because ${sayRemovals(table, step, steps)}`);
  return `${[start, ...before.reverse()].join('; ')}.`;
}

function sayRemovals(table: PairTable, step: ConflictStep, steps: readonly ConflictStep[]): string {
  const all = step.left.length + step.removedBy.reduce((sum, { removes }) => sum + removes.length, 0);
  const parts = step.removedBy.map(({ column, finish, removes }, at) => {
    const who = sayWho(table, column, finish, steps);
    if (at === 0) {
      if (removes.length === all) return `${who} excludes ${all === 1 ? 'it' : `all ${all} of its finishes`}`;
      return `${who} excludes ${removes.length} of its finishes`;
    }
    const rest = at === step.removedBy.length - 1 && step.left.length === 0;
    return `${who} ${rest ? 'the other ' : ''}${removes.length}`;
  });
  return joinWords(parts);
}

function sayWho(table: PairTable, column: number, finish: Removal['finish'], steps: readonly ConflictStep[]): string {
  if (finish !== null) return sayChoice(table, { column, finish });
  const { label } = table.columns[column]!;
  return steps.some((step) => step.column === column) ? `what is left for ${label}` : `every finish of ${label}`;
}

function sayLeft(table: PairTable, { column, left }: ConflictStep): string {
  const { label, finishes } = table.columns[column]!;
  if (left.length > MAX_NAMED) return `${label} has ${left.length} finishes left`;
  return `${label} has only ${joinWords(left.map((finish) => finishes[finish]!))} left`;
}

function sayChoice(table: PairTable, { column, finish }: Choice): string {
  const { label, finishes } = table.columns[column]!;
  return `${label} ${finishes[finish]}`;
}

function joinWords(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
