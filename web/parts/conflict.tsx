import { signal } from '@preact/signals';
import { ApiProblem, getErrorMessage } from '../api.ts';
import { commonTexts } from '../texts/common.ts';
import { Notice } from './form.tsx';

/** Whether a change was refused because someone else changed the same thing first. */
export function isConflict(error: unknown): boolean {
  return error instanceof ApiProblem && error.answer.status === 412;
}

interface Refused {
  readonly text: string;
  /** Null for a problem that is no conflict. */
  readonly overwrite: (() => Promise<unknown>) | null;
}

/**
 * Makes changes, and keeps what was refused: the user's input stays, and the change can be made again over that of the
 * other person.
 * @param reload shows the stored state instead of the user's input
 */
export function createChanges(reload: () => Promise<unknown>) {
  const refused = signal<Refused | null>(null);

  /**
   * @param change gets whether it may overwrite what others saved in the meantime
   * @returns true if it succeeded
   */
  async function attempt(change: (overwrite: boolean) => Promise<void>, overwrite = false): Promise<boolean> {
    try {
      await change(overwrite);
      refused.value = null;
      return true;
    } catch (error) {
      refused.value = isConflict(error)
        ? { text: commonTexts.changedByOthers, overwrite: () => attempt(change, true) }
        : { text: getErrorMessage(error), overwrite: null };
      return false;
    }
  }

  const clear = () => {
    refused.value = null;
  };

  return {
    refused,
    attempt,
    clear,
    reload: async () => {
      clear();
      await reload();
    },
  };
}

export type Changes = ReturnType<typeof createChanges>;

/** A refused change, and after a conflict the two ways on. */
export function RefusedChange({ changes }: { readonly changes: Changes }) {
  const refused = changes.refused.value;
  const overwrite = refused?.overwrite;
  return (
    <Notice text={refused?.text ?? null}>
      {overwrite && (
        <>
          <button type="button" onClick={() => void overwrite()}>
            {commonTexts.overwrite}
          </button>
          <button type="button" onClick={() => void changes.reload()}>
            {commonTexts.reload}
          </button>
        </>
      )}
    </Notice>
  );
}
