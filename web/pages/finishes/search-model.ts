import { signal } from '@preact/signals';
import { isHex } from '../../../server/core/colour/srgb.ts';
import type { FinishAnswer, FinishListAnswer } from '../../../server/http/contracts/finish.ts';
import { get, getErrorMessage } from '../../api.ts';

export interface Found {
  /** The colour that was searched for; null for a search by words. */
  readonly near: string | null;
  readonly finishes: readonly FinishAnswer[];
}

/** Most pauses between two typed letters are shorter. */
const PAUSE_MS = 200;
/** Enough to choose from, few enough to fit on a screen. */
const NEAREST_COUNT = 12;

/** Searches finishes by words, or by a colour written as `#rrggbb`. Answers to earlier input are ignored. */
export function createSearchModel() {
  const text = signal('');
  /** Null without a search. */
  const found = signal<Found | null>(null);
  const trouble = signal<string | null>(null);
  let waiting: ReturnType<typeof setTimeout> | undefined;

  async function find(words: string): Promise<void> {
    const typed = words.trim();
    if (typed === '') {
      found.value = null;
      return;
    }
    const near = isHex(typed) ? typed.toLowerCase() : null;
    const query = near ? `near=${encodeURIComponent(near)}&limit=${NEAREST_COUNT}` : `q=${encodeURIComponent(typed)}`;
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
    waiting = setTimeout(() => void find(words), PAUSE_MS);
  }

  return { text, found, trouble, type, find };
}
