import { signal } from '@preact/signals';
import { isHex } from '../../../server/core/colour/srgb.ts';
import type { FinishAnswer, FinishListAnswer } from '../../../server/http/contracts/finish.ts';
import { get, getErrorMessage } from '../../api.ts';

export interface Found {
  /** The colour asked for, when the finishes are those nearest to it. */
  readonly near: string | null;
  readonly finishes: readonly FinishAnswer[];
}

/** Typing goes on for about this long between two letters. */
const PAUSE_MS = 200;
/** Enough to choose from, few enough to see at once. */
const NEAREST = 12;

/** Looks finishes up by words, or by a colour written as `#rrggbb`; the last thing typed is what is shown. */
export function createSearch() {
  const text = signal('');
  /** Null while nothing is looked for. */
  const found = signal<Found | null>(null);
  const trouble = signal<string | null>(null);
  let waiting: ReturnType<typeof setTimeout> | undefined;

  async function look(words: string): Promise<void> {
    const typed = words.trim();
    if (typed === '') {
      found.value = null;
      return;
    }
    const near = isHex(typed) ? typed.toLowerCase() : null;
    const query = near ? `near=${encodeURIComponent(near)}&limit=${NEAREST}` : `q=${encodeURIComponent(typed)}`;
    try {
      const { finishes } = await get<FinishListAnswer>(`/api/finishes?${query}`);
      if (text.value.trim() !== typed) return;
      found.value = { near, finishes };
      trouble.value = null;
    } catch (error) {
      trouble.value = getErrorMessage(error);
    }
  }

  function type(words: string): void {
    text.value = words;
    clearTimeout(waiting);
    waiting = setTimeout(() => void look(words), PAUSE_MS);
  }

  return { text, found, trouble, type, look };
}
