import { useSignal } from '@preact/signals';
import { getErrorMessage } from '../api.ts';
import { commonTexts } from '../texts/common.ts';
import { Notice } from './form.tsx';
import type { PagedList } from './paged-list.ts';

/** Adds the next page of a list, while there is one. */
export function ShowMore({ list, what }: { readonly list: PagedList; readonly what: string }) {
  const problem = useSignal<string | null>(null);
  if (list.next.value === null) return null;
  return (
    <div class="total no-print">
      <button
        type="button"
        onClick={async () => {
          try {
            await list.more();
            problem.value = null;
          } catch (error) {
            problem.value = getErrorMessage(error);
          }
        }}
      >
        {commonTexts.showMore}
        <span class="unseen">: {what}</span>
      </button>
      <Notice text={problem.value} />
    </div>
  );
}
