import { batch, computed, signal } from '@preact/signals';
import type { Repair, RepairReport } from '../../../../server/core/repair/repair.ts';
import type { ReadinessAnswer } from '../../../../server/http/contracts/finding.ts';
import type { ImportedVariantsAnswer, RepairAnswer } from '../../../../server/http/contracts/model.ts';
import { call, getErrorMessage, seg } from '../../../api.ts';
import { listChosen, mergeProposals, dropTurns as removeTurns, type Step } from './repair-chain.ts';

/** The action in progress. */
type RepairWork = 'preview' | 'apply' | 'variants' | null;

/**
 * The proposed repairs: ticks, preview and result.
 * @param onImported follows an import of variants, which cannot be undone in one step as repairs can
 */
export function createRepairsModel(product: string, onMade: () => Promise<void>, onImported = onMade) {
  const path = `/api/products/${seg(product)}`;
  const steps = signal<readonly Step[]>([]);
  const work = signal<RepairWork>(null);
  /** The latest error, shown beside the button of its action. */
  const problem = signal<{ readonly work: RepairWork; readonly text: string } | null>(null);
  const previewed = signal<{ readonly of: string; readonly answer: RepairAnswer } | null>(null);
  /** The result of the latest repairs. */
  const made = signal<RepairAnswer | null>(null);

  /** The result of the latest import of variants. */
  const imported = signal<ImportedVariantsAnswer | null>(null);

  const chosen = computed(() => listChosen(steps.value));
  /** The preview, while it matches the ticked repairs. */
  const preview = computed(() => {
    const shown = previewed.value;
    return shown && shown.of === JSON.stringify(chosen.value) ? shown.answer : null;
  });

  /** What the preview says of a step; undefined without a preview, and for a step that takes no part in it. */
  function findReport(step: Step): RepairReport | undefined {
    const at = steps.value.filter(({ on }) => on).indexOf(step);
    return at < 0 ? undefined : preview.value?.reports[at];
  }

  function update({ proposals, findings }: ReadinessAnswer): void {
    const offered = findings.flatMap(({ repairs }) => repairs ?? []);
    steps.value = mergeProposals(steps.value, proposals, offered);
  }

  /** Removes turns, which were meant for the previous revision. */
  function dropTurns(): void {
    steps.value = removeTurns(steps.value);
  }

  function edit(change: (steps: readonly Step[]) => readonly Step[]): void {
    batch(() => {
      steps.value = change(steps.value);
      problem.value = null;
    });
  }

  async function run(kind: Exclude<RepairWork, null>, task: () => Promise<void>): Promise<boolean> {
    if (work.value) return false;
    batch(() => {
      work.value = kind;
      problem.value = null;
    });
    try {
      await task();
      return true;
    } catch (error) {
      problem.value = { work: kind, text: getErrorMessage(error) };
      return false;
    } finally {
      work.value = null;
    }
  }

  /** Previews the ticked repairs and their losses. The model does not change. */
  const loadPreview = () =>
    run('preview', async () => {
      const repairs = chosen.value;
      made.value = null;
      const { data } = await call<RepairAnswer>('POST', `${path}/repairs?preview=1`, { json: { repairs } });
      previewed.value = { of: JSON.stringify(repairs), answer: data };
    });

  /** Applies repairs: the ticked ones, or others. */
  const apply = (repairs: readonly Repair[] = chosen.value) =>
    run('apply', async () => {
      const { data } = await call<RepairAnswer>('POST', `${path}/repairs`, { json: { repairs } });
      await onMade();
      batch(() => {
        previewed.value = null;
        made.value = data;
      });
    });

  /** Imports the variants in the model as finishes and a schedule. */
  const importVariants = (replace: boolean) =>
    run('variants', async () => {
      const json = replace ? { replace: true } : {};
      const { data } = await call<ImportedVariantsAnswer>('POST', `${path}/model/take-variants`, { json });
      await onImported();
      imported.value = data;
    });

  return {
    steps,
    work,
    problem,
    made,
    imported,
    chosen,
    preview,
    findReport,
    update,
    dropTurns,
    edit,
    loadPreview,
    apply,
    importVariants,
  };
}

export type RepairsModel = ReturnType<typeof createRepairsModel>;
