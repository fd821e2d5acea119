import type { RangeStatus } from '../finish/finish.ts';
import type { Options } from './options.ts';
import type { Rule } from './rule.ts';

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
