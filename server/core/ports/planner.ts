import type { CombinationCount } from '../combinations/count-combinations.ts';
import type { CheckSetKind } from '../combinations/plan-check-set.ts';
import type { PackedScope } from '../line/packed-scope.ts';
import type { RuleScope } from '../line/rules.ts';
import type { Finding } from '../product/finding.ts';
import type { PackedRows } from '../schedule/packed-rows.ts';
import type { CheckRows, ExpandRequest } from '../schedule/plan-rows.ts';
import type { RuleEffects } from '../schedule/rule-effects.ts';

/** Calculations whose time grows with combinations or with pairs, by name. All data is plain. */
export type PlanTask =
  | {
      readonly kind: 'count';
      readonly scope: RuleScope | PackedScope;
      /** With it, the effects of the rules are listed too; its rows may be null. */
      readonly explain: { readonly standing: PackedRows | null } | null;
    }
  | {
      readonly kind: 'check-set';
      readonly scope: RuleScope | PackedScope;
      readonly of: CheckSetKind;
      readonly standing: PackedRows | null;
    }
  | {
      readonly kind: 'expand';
      readonly scope: RuleScope | PackedScope;
      readonly request: ExpandRequest;
      readonly standing: PackedRows | null;
    }
  | { readonly kind: 'schedule-findings'; readonly scope: RuleScope | PackedScope; readonly schedule: PackedRows }
  | {
      readonly kind: 'none-left';
      readonly scope: RuleScope | PackedScope;
      readonly chosen: Readonly<Record<string, string>>;
    }
  | { readonly kind: 'nearest'; readonly colours: ColourTable; readonly lab: readonly number[]; readonly limit: number }
  | { readonly kind: 'alike'; readonly colours: ColourTable; readonly deltaE: number; readonly limit: number };

/** Colours to search, by their indices. */
export interface ColourTable {
  /** Three numbers for each: CIE Lab, all under one illuminant and observer. */
  readonly labs: Float64Array;
  /** Only colours of one group are compared, such as those of one family and article. */
  readonly groups: Uint32Array;
  /** Perceptual roughness, 0 to 1. */
  readonly roughness: Float64Array;
}

/** Colours found, in order: the index of one, or the two indices of a pair, and the distance of each. */
export interface FoundColours {
  readonly indices: Uint32Array;
  readonly deltaE: Float64Array;
}

export interface PlanResults {
  count: { readonly counted: CombinationCount; readonly effects: RuleEffects | null };
  'check-set': { readonly planned: CheckRows['planned']; readonly added: PackedRows };
  expand: PackedRows;
  'schedule-findings': readonly Finding[];
  /** Why no valid variant contains the choices; null if one does. */
  'none-left': string | null;
  nearest: FoundColours;
  alike: FoundColours;
}

/** Does calculations of the core in threads of its own, in limited time. */
export interface Planner {
  /**
   * @param signal aborts when nobody waits for the result any more; the calculation then ends
   * @throws Problem those of the calculation, `work-limit` when it takes too long, `work-cancelled` after the signal
   */
  run<Kind extends PlanTask['kind']>(
    task: Extract<PlanTask, { kind: Kind }>,
    signal?: AbortSignal,
  ): Promise<PlanResults[Kind]>;
}
