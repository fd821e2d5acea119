import type { RangeStatus } from '../finish/finish.ts';

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
