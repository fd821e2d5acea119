import { batch, computed, signal } from '@preact/signals';
import type { Repair } from '../../../../server/core/repair/repair.ts';
import type { ReadinessAnswer } from '../../../../server/http/contracts/finding.ts';
import type { RepairAnswer, TakenVariantsAnswer } from '../../../../server/http/contracts/model.ts';
import { call, getErrorMessage, seg } from '../../../api.ts';
import { listChosen } from './list-chosen.ts';
import { dropTurns, type Step, takeProposals } from './repair-chain.ts';

/** What is under way, for saying so and for keeping buttons still. */
export type RepairWork = 'preview' | 'make' | 'variants' | null;

/** The repairs that are proposed: which are ticked, what they would do, and what they did. */
export function createRepairsModel(product: string, onMade: () => Promise<void>) {
  const path = `/api/products/${seg(product)}`;
  const steps = signal<readonly Step[]>([]);
  const work = signal<RepairWork>(null);
  /** What went wrong, and with what, so that it is said where the button is. */
  const trouble = signal<{ readonly work: RepairWork; readonly text: string } | null>(null);
  const previewed = signal<{ readonly of: string; readonly answer: RepairAnswer } | null>(null);
  /** What was made last. */
  const made = signal<RepairAnswer | null>(null);

  /** The variants that were taken in last. */
  const taken = signal<TakenVariantsAnswer | null>(null);

  const chosen = computed(() => listChosen(steps.value));
  /** The preview, as long as it is of what is ticked now. */
  const preview = computed(() => {
    const shown = previewed.value;
    return shown && shown.of === JSON.stringify(chosen.value) ? shown.answer : null;
  });

  function take({ proposals, findings }: ReadinessAnswer): void {
    const offered = findings.flatMap(({ repairs }) => repairs ?? []);
    steps.value = takeProposals(steps.value, proposals, offered);
  }

  /** Another revision is current: what was added for the one before goes. */
  function startAnew(): void {
    steps.value = dropTurns(steps.value);
  }

  function edit(change: (steps: readonly Step[]) => readonly Step[]): void {
    batch(() => {
      steps.value = change(steps.value);
      trouble.value = null;
    });
  }

  async function run(kind: Exclude<RepairWork, null>, task: () => Promise<void>): Promise<boolean> {
    if (work.value) return false;
    batch(() => {
      work.value = kind;
      trouble.value = null;
    });
    try {
      await task();
      return true;
    } catch (error) {
      trouble.value = { work: kind, text: getErrorMessage(error) };
      return false;
    } finally {
      work.value = null;
    }
  }

  /** Tells what the ticked repairs would do; one that would lose something says so here, and nothing is changed. */
  const look = () =>
    run('preview', async () => {
      const repairs = chosen.value;
      made.value = null;
      const { data } = await call<RepairAnswer>('POST', `${path}/repairs?preview=1`, { json: { repairs } });
      previewed.value = { of: JSON.stringify(repairs), answer: data };
    });

  /** Makes repairs: those that are ticked, or others picked by hand. */
  const make = (repairs: readonly Repair[] = chosen.value) =>
    run('make', async () => {
      const { data } = await call<RepairAnswer>('POST', `${path}/repairs`, { json: { repairs } });
      await onMade();
      batch(() => {
        previewed.value = null;
        made.value = data;
      });
    });

  /** Takes the variants the model carries in as finishes and schedule. */
  const takeVariants = (replace: boolean) =>
    run('variants', async () => {
      const json = replace ? { replace: true } : {};
      const { data } = await call<TakenVariantsAnswer>('POST', `${path}/model/take-variants`, { json });
      await onMade();
      taken.value = data;
    });

  return { steps, work, trouble, made, taken, chosen, preview, take, startAnew, edit, look, make, takeVariants };
}

export type RepairsModel = ReturnType<typeof createRepairsModel>;
