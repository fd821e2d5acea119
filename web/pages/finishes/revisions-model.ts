import { signal } from '@preact/signals';
import type { FinishHistoryAnswer } from '../../../server/http/contracts/finish-history.ts';
import { get, getErrorMessage, seg } from '../../api.ts';

/** What became of one finish, revision by revision. */
export function createRevisionsModel(finish: string) {
  const answer = signal<FinishHistoryAnswer | null>(null);
  const trouble = signal<string | null>(null);

  async function load(): Promise<void> {
    try {
      answer.value = await get<FinishHistoryAnswer>(`/api/finishes/${seg(finish)}/revisions`);
      trouble.value = null;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  return { answer, trouble, load };
}
