import { AsyncLocalStorage } from 'node:async_hooks';
import type { Turn } from '../core/ports/renderer.ts';
import type { PictureShare } from '../core/ports/stores.ts';

/** Who an action works for. Pictures need to know it deep inside, so it goes with the call and not through every action. */
export interface CallTurn extends Turn {
  /**
   * Counts a new picture against the budget of a guest. Pictures that are stored cost nothing.
   * @throws Problem `guest-budget`
   */
  spend?(pixels: number): void;
}

const current = new AsyncLocalStorage<CallTurn>();

/** The command line, and what the service does by itself. */
const PROGRAM: CallTurn = { rank: 'person', name: 'program' };

export function getTurn(): CallTurn {
  return current.getStore() ?? PROGRAM;
}

/** For whom pictures are stored and read now. Those for guests may not drive out what others use. */
export function getShare(): PictureShare {
  return getTurn().rank === 'guest' ? 'guests' : 'others';
}

/** Does work for a caller, with all that it starts. */
export function workFor<Result>(caller: CallTurn, work: () => Result): Result {
  return current.run(caller, work);
}

/** The same caller, whose work is long: it comes after that of persons who wait. */
export function asJob(caller: CallTurn): CallTurn {
  if (caller.rank !== 'person') return caller;
  const { name, signal } = caller;
  return { rank: 'job', name, ...(signal && { signal }) };
}

/** Makes each value for the caller, also where the reader is a stream, which has none. */
export async function* makeFor<Value>(caller: CallTurn, values: AsyncIterable<Value>): AsyncGenerator<Value> {
  const iterator = values[Symbol.asyncIterator]();
  try {
    for (;;) {
      const { done, value } = await workFor(caller, () => iterator.next());
      if (done) return;
      yield value;
    }
  } finally {
    await iterator.return?.();
  }
}

const RANKS = ['person', 'job', 'guest'] as const;

/** Several callers who wait for the same work. It has the best of their ranks, and ends only when all have left. */
export class SharedTurn implements CallTurn {
  readonly #first: CallTurn;
  readonly #members = new Set<CallTurn>();
  readonly #gone = new AbortController();
  readonly #forget: (() => void)[] = [];

  constructor(first: CallTurn) {
    this.#first = first;
    this.#forget.push(this.join(first));
  }

  /** @returns stops listening to the caller, who still counts as waiting */
  join(caller: CallTurn): () => void {
    const { signal } = caller;
    this.#members.add(caller);
    const leave = () => {
      this.#members.delete(caller);
      if (this.#members.size === 0) this.#gone.abort();
    };
    if (signal?.aborted) leave();
    signal?.addEventListener('abort', leave);
    return () => signal?.removeEventListener('abort', leave);
  }

  /** To be called when the work has ended. */
  close(): void {
    for (const forget of this.#forget) forget();
  }

  get rank(): CallTurn['rank'] {
    return RANKS.find((rank) => [...this.#members].some((member) => member.rank === rank)) ?? this.#first.rank;
  }

  get name(): string {
    return this.#first.name;
  }

  get signal(): AbortSignal {
    return this.#gone.signal;
  }

  spend(pixels: number): void {
    this.#first.spend?.(pixels);
  }
}
