import type { ImportReading } from '../core/import/measured-row.ts';
import { type ImportDefaults, type ImportPlan, planImport } from '../core/import/plan-import.ts';
import type { Context } from './context.ts';

export interface ImportOptions extends ImportDefaults {
  /** Store nothing, only say what would come of it. */
  readonly dryRun: boolean;
  /** Take what can be taken though lines are refused; otherwise one refused line keeps all out. */
  readonly partial: boolean;
}

export interface ImportResult extends Omit<ImportPlan, 'finishes'> {
  /** Whether what is created and changed was stored. */
  readonly stored: boolean;
}

/** Imports what a file says: all rows in one transaction, or none. */
export async function importFinishes(
  { stores }: Pick<Context, 'stores'>,
  reading: ImportReading,
  { dryRun, partial, ...defaults }: ImportOptions,
): Promise<ImportResult> {
  const [known, articles] = await Promise.all([stores.listFinishes(), stores.listArticles()]);
  const { finishes, ...plan } = planImport(reading, { finishes: known, articles }, defaults);
  const stored = !dryRun && (partial || plan.refused.length === 0);
  if (stored && finishes.length > 0) await stores.putFinishes(finishes);
  return { ...plan, stored };
}
