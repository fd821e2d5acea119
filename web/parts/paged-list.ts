import { signal } from '@preact/signals';
import { get } from '../api.ts';

const AT_ONCE = 50;
/** Most entries that the service sends in one page. */
const MOST = 1000;

/** A list that is shown page by page, newest first. */
export function createPagedList<Answer extends { readonly next?: number }, Entry>(
  path: string,
  read: (answer: Answer) => readonly Entry[],
) {
  const entries = signal<readonly Entry[]>([]);
  /** The `after` of the next page; null after the last one. */
  const next = signal<number | null>(null);

  /** Loads as many entries as are shown, and at least a page. */
  async function load(): Promise<void> {
    const limit = Math.min(MOST, Math.max(AT_ONCE, entries.value.length));
    const answer = await get<Answer>(`${path}?limit=${limit}`);
    entries.value = read(answer);
    next.value = answer.next ?? null;
  }

  async function more(): Promise<void> {
    const answer = await get<Answer>(`${path}?limit=${AT_ONCE}&after=${next.value}`);
    entries.value = [...entries.value, ...read(answer)];
    next.value = answer.next ?? null;
  }

  return { entries, next, load, more };
}

export type PagedList = Pick<ReturnType<typeof createPagedList<{ next?: number }, unknown>>, 'next' | 'more'>;
