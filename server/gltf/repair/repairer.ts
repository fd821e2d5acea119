import type { RepairName, RepairOf } from '../../core/repair/repair.ts';
import type { ModelEdit } from './edit/model-edit.ts';

/** What a repair says it did. */
export interface Outcome {
  readonly outcome: 'done' | 'nothing-to-do' | 'unfit';
  readonly message: string;
  readonly figures?: Readonly<Record<string, number | string>>;
  /** Where it differs from what the repair's kind does (`REPAIRS`). */
  readonly touchesGeometry?: boolean;
}

/**
 * One repair: `listLosses` looks, `apply` changes the edit. `apply` decides whether it fits before it changes anything,
 * and answers `unfit` without a change where it does not.
 */
export interface Repairer<N extends RepairName> {
  /** What making it would lose, in words, such as “2 animations”; empty when nothing. */
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
