import { batch, computed, signal } from '@preact/signals';
import { getErrorMessage } from '../../../api.ts';

/** Something a person did, with the ways back and forward again. */
export interface Step {
  /** What was done, to follow “Undo: ” and “Redo: ”. */
  readonly label: string;
  /** Takes the change back. Rejects where it cannot; the step then stays. */
  undo(): void | Promise<void>;
  redo(): void | Promise<void>;
}

/** Steps that are kept; older ones are forgotten. */
const MOST_STEPS = 500;

/** What a person did on a page, in order, to be undone and redone one step at a time. */
export function createHistory(most = MOST_STEPS) {
  const done = signal<readonly Step[]>([]);
  const undone = signal<readonly Step[]>([]);
  const busy = signal(false);
  /** Why the last step could not be undone or redone. */
  const problem = signal<string | null>(null);

  /** Counts the steps that were added. */
  let added = 0;

  const nextUndo = computed(() => done.value.at(-1)?.label ?? null);
  const nextRedo = computed(() => undone.value.at(-1)?.label ?? null);

  /** Records a step that was just done. What was undone before it can no longer be redone. */
  function add(step: Step): void {
    added++;
    batch(() => {
      done.value = [...done.value, step].slice(-most);
      undone.value = [];
      problem.value = null;
    });
  }

  async function go(from: typeof done, to: typeof done, way: 'undo' | 'redo'): Promise<void> {
    const step = from.value.at(-1);
    if (!step || busy.value) return;
    busy.value = true;
    const before = added;
    try {
      await step[way]();
      batch(() => {
        from.value = from.value.filter((other) => other !== step);
        // after something new was done meanwhile, the step can no longer be done again
        if (added === before) to.value = [...to.value, step];
        problem.value = null;
      });
    } catch (error) {
      problem.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  return {
    add,
    busy,
    problem,
    /** The label of the step that `undo` takes back; null without one. */
    nextUndo,
    nextRedo,
    undo: () => go(done, undone, 'undo'),
    redo: () => go(undone, done, 'redo'),
  };
}

export type History = ReturnType<typeof createHistory>;
