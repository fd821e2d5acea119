import type { Article, Finish, StoredFinish } from '../../core/finish/finish.ts';
import type { CodeCounts } from '../../core/finish/level-map.ts';
import type { ImportReading } from '../../core/import/measured-row.ts';
import type { ImportDefaults, ImportPlan } from '../../core/import/plan-import.ts';
import type { ImportFile } from '../../core/ports/imports.ts';

/** Lists that are handed over in parts. */
export interface Lists extends ImportPlan {
  /** Codes that stand in the file, each as it is written there. */
  readonly codes: readonly string[];
}
export type ListName = keyof Lists;

/**
 * What the thread can be asked, in this order: to read a file; to know finishes, part by part, and articles; to plan; for
 * parts of a list, each from where one says; and to forget it all.
 */
export type Ask =
  | { readonly kind: 'read'; readonly file: ImportFile }
  | {
      readonly kind: 'know';
      readonly finishes: readonly StoredFinish[];
      readonly articles: readonly Article[];
      readonly codes: ReadonlyMap<string, CodeCounts>;
    }
  | { readonly kind: 'plan'; readonly defaults: ImportDefaults }
  | { readonly kind: 'part'; readonly list: ListName; readonly from: number }
  | { readonly kind: 'forget' };

export interface Answers {
  read: ImportReading['format'];
  know: null;
  plan: null;
  forget: null;
  part: readonly (string | Finish | ImportPlan[Exclude<keyof ImportPlan, 'finishes'>][number])[];
}
