import type { Conflict, ConflictStep, Removal } from '../combinations/explain-conflict.ts';
import type { Choice, PairTable } from '../combinations/pair-table.ts';

/** Texts of the rules of a line. A place is a position and the finishes that the rule means there. */
export const RULE_TEXTS = {
  anyFinish: 'any finish',
  anyOfFamily: (family: string) => `any ${family}`,
  anyWithTag: (tag: string) => `anything tagged “${tag}”`,
  anyOfGrade: (grade: string) => `any finish of grade ${grade}`,
  position: (label: string) => `“${label}”`,
  place: (position: string, finishes: string) => `${position} in ${finishes}`,
  excludes: (place: string, other: string) => `${place} never goes with ${other}`,
  requires: (place: string, other: string) => `${place} goes only with ${other}`,
  /** Begins a rule that applies to some of the finishes at a position. */
  where: (position: string, finishes: string) => `where ${position} is in ${finishes}, `,
  sameAs: (position: string, other: string) => `${position} has the same finish as ${other}`,
  companion: (position: string, other: string) => `${position} has the companion of the finish on ${other}`,
} as const;

/** Texts about the choices of one variant. */
export const CHOICE_TEXTS = {
  notAnOption: (label: string, finish: string) => `${finish} is not among the options of ${label}.`,
  discontinued: (label: string, finish: string, replacedBy: string | undefined) =>
    `${label} ${finish} is discontinued.${replacedBy === undefined ? '' : ` ${replacedBy} replaces it.`}`,
  ruleBroken: (choice: string, other: string, rule: string) => `${choice} and ${other} cannot be combined: ${rule}.`,
  /** Why a variant is withdrawn with its finish. */
  noReplacement: (finish: string) => `It uses ${finish}, which has no replacement.`,
  alreadyThere: (finish: string, variant: string) => `With ${finish} it would be the same as ${variant}.`,
  /** Follows the name of the finish. */
  notWith: (other: string, rule: string) => `not with ${other}: ${rule}`,
  /** A finish on a slot. */
  choice: (label: string, finish: string) => `${label} ${finish}`,
} as const;

/** Finishes left are named up to this many, and counted beyond. */
const MAX_NAMED = 3;

/**
 * A conflict in a sentence, for example:
 * “No finish is left for Cord because Shade FEL-110 excludes 3 of its finishes and Body KLN-104 the other 2.”
 */
export function describeConflict(table: PairTable, { choices, steps }: Conflict): string {
  const final = steps.at(-1);
  if (!final) {
    if (choices.length === 0) return 'The rules allow no combination.';
    return `No valid combination contains ${joinWords(choices.map((choice) => nameChoice(table, choice)))}.`;
  }
  const chosen = choices.find(({ column }) => column === final.column);
  const [only] = final.removedBy;
  if (!only) return `${table.columns[final.column]!.label} has no finishes to choose from.`;
  if (chosen && only.finish !== null) {
    const pair = [{ column: only.column, finish: only.finish }, chosen].sort((a, b) => a.column - b.column);
    return `${joinWords(pair.map((choice) => nameChoice(table, choice)))} cannot be combined.`;
  }
  const because = describeRemovals(table, final, steps, chosen !== undefined && chosen !== null);
  const start = chosen
    ? `${nameChoice(table, chosen)} cannot stay because ${because}`
    : `No finish is left for ${table.columns[final.column]!.label} because ${because}`;
  const before = steps
    .slice(0, -1)
    .map((step) => `${describeLeft(table, step)} because ${describeRemovals(table, step, steps)}`);
  return `${[start, ...before.reverse()].join('; ')}.`;
}

/** @param isChosen whether the one finish that the step had is a choice that the sentence names */
function describeRemovals(
  table: PairTable,
  step: ConflictStep,
  steps: readonly ConflictStep[],
  isChosen = false,
): string {
  const all = step.left.length + step.removedBy.reduce((sum, { removes }) => sum + removes.length, 0);
  const parts = step.removedBy.map(({ column, finish, removes }, at) => {
    const who = nameRemover(table, column, finish, steps);
    if (at === 0) {
      if (removes.length === all)
        return `${who} excludes ${all > 1 ? `all ${all} of its finishes` : isChosen ? 'it' : 'its only finish'}`;
      return `${who} excludes ${removes.length} of its finishes`;
    }
    const rest = at === step.removedBy.length - 1 && step.left.length === 0;
    return `${who} ${rest ? 'the other ' : ''}${removes.length}`;
  });
  return joinWords(parts);
}

function nameRemover(
  table: PairTable,
  column: number,
  finish: Removal['finish'],
  steps: readonly ConflictStep[],
): string {
  if (finish !== null) return nameChoice(table, { column, finish });
  const { label } = table.columns[column]!;
  const step = steps.find((other) => other.column === column);
  if (!step) return `every finish of ${label}`;
  return step.left.length === 1 ? `the remaining finish of ${label}` : `every remaining finish of ${label}`;
}

function describeLeft(table: PairTable, { column, left }: ConflictStep): string {
  const { label, finishes } = table.columns[column]!;
  if (left.length > MAX_NAMED) return `${label} has ${left.length} finishes left`;
  return `${label} has only ${joinWords(left.map((finish) => finishes[finish]!))} left`;
}

function nameChoice(table: PairTable, { column, finish }: Choice): string {
  const { label, finishes } = table.columns[column]!;
  return CHOICE_TEXTS.choice(label, finishes[finish]!);
}

function joinWords(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
