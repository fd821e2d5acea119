import type { RepairName, RepairOf } from '../../core/repair/repair.ts';
import type { ModelEdit } from './edit/model-edit.ts';

/** The report of a repair. */
export interface Outcome {
  readonly outcome: 'done' | 'nothing-to-do' | 'unfit';
  readonly message: string;
  readonly figures?: Readonly<Record<string, number | string>>;
  /** Where it differs from the default for its kind (`REPAIRS`). */
  readonly touchesGeometry?: boolean;
}

/**
 * One repair. `listLosses` only reads; `apply` changes the edit. `apply` checks first whether the repair fits the model, and
 * returns `unfit` without a change if it does not.
 */
export interface Repairer<N extends RepairName> {
  /** Losses of the repair, as texts of `REPAIR_LOSSES`; empty without a loss. */
  listLosses?(edit: ModelEdit, repair: RepairOf<N>): readonly string[];
  apply(edit: ModelEdit, repair: RepairOf<N>): Outcome | Promise<Outcome>;
}

export const done = (message: string, figures: Outcome['figures'] = {}): Outcome => ({
  outcome: 'done',
  message,
  figures,
});
export const nothingToDo = (message: string): Outcome => ({ outcome: 'nothing-to-do', message });
export const unfit = (message: string): Outcome => ({ outcome: 'unfit', message });
