/** Whose work a task is, how much it is, and when nobody wants it any more. */
export interface QueuedWork {
  /** Tasks of one owner, such as a product, take turns with those of others. Without an owner a task only waits its turn. */
  readonly owner?: string | undefined;
  /** Heavy tasks leave one place free, so that a small task never waits for large ones alone. */
  readonly isHeavy?: boolean | undefined;
  readonly signal?: AbortSignal | undefined;
}

interface Waiting {
  readonly work: QueuedWork;
  readonly start: () => void;
}

const NOBODY = '';

/**
 * A queue before a number of places. Owners take turns, whatever they have waiting; one owner, and all heavy tasks together,
 * leave one place free when there are several. A task whose caller leaves while it waits never starts.
 */
export class FairQueue {
  /** By owner, in the order of their turns. */
  readonly #waiting = new Map<string, Waiting[]>();
  readonly #running: QueuedWork[] = [];
  readonly #places: number;
  readonly #mostWaiting: number;

  constructor(places: number, mostWaiting = Number.POSITIVE_INFINITY) {
    this.#places = places;
    this.#mostWaiting = mostWaiting;
  }

  /** Whether another task would be too many. */
  get isFull(): boolean {
    return this.waiting >= this.#mostWaiting;
  }

  /** Tasks that have not started. */
  get waiting(): number {
    return [...this.#waiting.values()].reduce((sum, list) => sum + list.length, 0);
  }

  /** @throws the signal's reason if it is aborted before the task starts */
  run<T>(work: QueuedWork, task: () => Promise<T>): Promise<T> {
    return new Promise<T>((resolve, reject) => {
      const { owner = NOBODY, signal } = work;
      if (signal?.aborted) {
        reject(signal.reason);
        return;
      }
      const leave = () => {
        this.#remove(owner, entry);
        reject(signal!.reason);
      };
      const entry: Waiting = {
        work,
        start: () => {
          signal?.removeEventListener('abort', leave);
          this.#running.push(work);
          task()
            .then(resolve, reject)
            .finally(() => {
              this.#running.splice(this.#running.indexOf(work), 1);
              this.#startNext();
            });
        },
      };
      signal?.addEventListener('abort', leave, { once: true });
      const list = this.#waiting.get(owner);
      if (list) list.push(entry);
      else this.#waiting.set(owner, [entry]);
      this.#startNext();
    });
  }

  #startNext(): void {
    for (let next = this.#takeNext(); next; next = this.#takeNext()) next.start();
  }

  #takeNext(): Waiting | null {
    if (this.#running.length >= this.#places) return null;
    for (const [owner, list] of this.#waiting) {
      const [entry] = list;
      if (!entry || !this.#mayStart(entry.work)) continue;
      this.#remove(owner, entry);
      // the owner's next turn comes after those of all others
      if (this.#waiting.delete(owner) && list.length > 0) this.#waiting.set(owner, list);
      return entry;
    }
    return null;
  }

  #mayStart({ owner, isHeavy }: QueuedWork): boolean {
    const most = Math.max(1, this.#places - 1);
    if (isHeavy && this.#running.filter((running) => running.isHeavy).length >= most) return false;
    return owner === undefined || this.#running.filter((running) => running.owner === owner).length < most;
  }

  #remove(owner: string, entry: Waiting): void {
    const list = this.#waiting.get(owner);
    const at = list?.indexOf(entry) ?? -1;
    if (!list || at < 0) return;
    list.splice(at, 1);
    if (list.length === 0) this.#waiting.delete(owner);
  }
}
