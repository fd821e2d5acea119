import { signal } from '@preact/signals';
import type { DiscontinueAnswer, WhereUsedAnswer } from '../../../../server/http/contracts/line.ts';
import { ApiProblem, call, get, getErrorMessage, seg } from '../../../api.ts';
import type { LineWrites } from '../line-writes.ts';

/** Selling a finish no more: what takes its place, what that would do, and what it did. */
export function createDiscontinueModel(
  linePath: string,
  finish: string,
  { decide }: Pick<LineWrites, 'decide'>,
  onChanged: () => Promise<void>,
) {
  /** Empty for none. */
  const replacedBy = signal('');
  const answer = signal<DiscontinueAnswer | null>(null);
  const uses = signal<WhereUsedAnswer | null>(null);
  const busy = signal(false);
  const trouble = signal<string | null>(null);

  async function loadUses(): Promise<void> {
    try {
      uses.value = await get<WhereUsedAnswer>(`/api/finishes/${seg(finish)}/where-used`);
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  /** Another replacement makes what was previewed void. */
  function pick(code: string): void {
    replacedBy.value = code;
    answer.value = null;
    trouble.value = null;
  }

  async function send(preview: boolean): Promise<void> {
    busy.value = true;
    trouble.value = null;
    try {
      const json = { finish, preview, ...(replacedBy.value && { replacedBy: replacedBy.value }) };
      const { data } = await decide((tag) =>
        call<DiscontinueAnswer>('POST', `${linePath}/discontinue`, { json, ifMatch: preview ? null : tag }),
      );
      answer.value = data;
      if (!preview) await Promise.all([onChanged(), loadUses()]);
    } catch (error) {
      answer.value = null;
      // what it would do has to be looked at again, on the line as it is now
      if (error instanceof ApiProblem && error.code === 'stale-line') await onChanged();
      trouble.value = getErrorMessage(error);
    } finally {
      busy.value = false;
    }
  }

  return { finish, replacedBy, answer, uses, busy, trouble, loadUses, pick, send };
}

export type DiscontinueModel = ReturnType<typeof createDiscontinueModel>;
