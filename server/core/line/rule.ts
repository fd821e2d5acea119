import type { Family } from '../finish/finish.ts';

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
