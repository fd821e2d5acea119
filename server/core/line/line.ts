import { foldCode } from '../codes.ts';
import type { Family, Finish, RangeStatus } from '../finish/finish.ts';

/** Which finishes a position or slot may take: the union of what is listed. Absent means the whole range. */
export interface Options {
  readonly finishes?: readonly string[];
  readonly families?: readonly Family[];
  readonly tags?: readonly string[];
  readonly grades?: readonly string[];
}

/** A place that products of a line share (seat, frame, shade): its options are said once, for the whole line. */
export interface Position {
  readonly position: string;
  readonly label: string;
  readonly options?: Options;
}

/** A finish as the line sells it. */
export interface RangeEntry {
  readonly finish: string;
  /** Price grade, the maker's own word: A, B, C … */
  readonly grade?: string;
  readonly status: RangeStatus;
  /** Last day on which it can be ordered, `yyyy-mm-dd`; for a finish in phase-out. */
  readonly lastOrder?: string;
  /** Code of the finish that takes its place. */
  readonly replacedBy?: string;
}

/** Products sold together, with their range and positions. */
export interface Line {
  readonly line: string;
  readonly name: string;
  readonly positions: readonly Position[];
  /** In the maker's order. */
  readonly range: readonly RangeEntry[];
  /** What may stand beside what, over all positions. */
  readonly rules: readonly Rule[];
}

/** Finishes at a position, named in one way; a position alone means whatever stands there. */
export interface Place {
  readonly position: string;
  readonly finish?: string;
  readonly family?: Family;
  readonly tag?: string;
  /** Price grade in the line's range. */
  readonly grade?: string;
}

/**
 * A rule between two positions of a line, said once for all its products. It binds a product that has slots at both.
 * `excludes`: never together. `requires`: only together with one of those. `sameAs`: the very same finish.
 * `companion`: the finish that the finish at `when` names as its companion for that position (thread, piping, zip); one
 * that names none leaves the position free.
 */
export type Rule = { readonly when: Place } & (
  | { readonly excludes: Place }
  | { readonly requires: Place }
  | { readonly sameAs: { readonly position: string } }
  | { readonly companion: { readonly position: string } }
);

/** Everything that names a finish. */
export interface WhereUsed {
  readonly finish: string;
  readonly lines: readonly LineUse[];
  readonly schedules: readonly { readonly product: string; readonly variants: number }[];
  /** Deliveries whose manifest lists it. */
  readonly deliveries: readonly { readonly product: string; readonly delivery: number }[];
  /** Finishes and articles that it follows as a companion. */
  readonly companionOf: readonly {
    readonly finish?: string;
    readonly article?: string;
    readonly positions: string[];
  }[];
}

export interface LineUse {
  readonly line: string;
  readonly name: string;
  /** Null when its range does not hold the finish. */
  readonly status: RangeStatus | null;
  /** Positions whose options name it by its code. */
  readonly positions: readonly string[];
  /** Rules that name it by its code, in words. */
  readonly rules: readonly string[];
  /** Finishes of the range whose place it takes. */
  readonly replaces: readonly string[];
}

export interface RangedFinish {
  readonly finish: Finish;
  readonly grade: string | null;
  readonly status: RangeStatus;
  /** As the range says. */
  readonly lastOrder?: string;
  readonly replacedBy?: string;
}

/**
 * What a line sells, in its order. A product without a line, or a line whose range is empty, may take any finish stored,
 * at the status the finish itself states.
 */
export function listRange(line: Line | null, finishes: ReadonlyMap<string, Finish>): RangedFinish[] {
  if (!line || line.range.length === 0) {
    return [...finishes.values()].map((finish) => ({ finish, grade: null, status: finish.status ?? 'current' }));
  }
  return line.range.flatMap((entry: RangeEntry) => {
    const finish = finishes.get(foldCode(entry.finish));
    if (!finish) return [];
    const { grade = null, status, lastOrder, replacedBy } = entry;
    return [{ finish, grade, status, ...(lastOrder && { lastOrder }), ...(replacedBy && { replacedBy }) }];
  });
}

/** Whether a finish of this status may be sold now. */
export function isSold(status: RangeStatus): boolean {
  return status === 'current' || status === 'phase-out';
}

/**
 * The finishes a slot may take: its position's options within the range, narrowed by the slot's own.
 * A fixed slot takes none.
 */
export function listOptions(
  slot: { readonly position: string | null; readonly options: Options | null; readonly fixed: boolean },
  line: Line | null,
  range: readonly RangedFinish[],
): RangedFinish[] {
  if (slot.fixed) return [];
  const position = line?.positions.find((candidate) => candidate.position === slot.position);
  return range.filter((item) => admits(position?.options, item) && admits(slot.options, item));
}

function admits(options: Options | undefined | null, { finish, grade }: RangedFinish): boolean {
  if (!options || Object.values(options).every((list) => list === undefined)) return true;
  return (
    (options.finishes?.some((code) => foldCode(code) === foldCode(finish.finish)) ?? false) ||
    (options.families?.includes(finish.family) ?? false) ||
    (options.tags?.some((tag) => finish.tags?.includes(tag)) ?? false) ||
    (grade !== null && (options.grades?.includes(grade) ?? false))
  );
}
