import { useSignal } from '@preact/signals';
import pLimit, { type LimitFunction } from 'p-limit';
import { useEffect, useRef } from 'preact/hooks';
import { ApiProblem, getErrorMessage, getImage } from '../api.ts';
import { commonTexts } from '../texts/common.ts';

interface PictureProps {
  readonly address: string;
  readonly alt: string;
  /** Changes whenever the picture at the address may have changed. */
  readonly version?: string | number;
  /** Whether the picture is known to exist, so that nothing has to be rendered first. */
  readonly ready?: boolean;
  readonly onArrive?: (image: HTMLImageElement) => void;
}

/** Pictures are fetched this far before they scroll into view. */
const AHEAD = '300px';

/** A picture of the service, fetched when it comes into view; a text stands in for it until then. */
export function Picture({ address, alt, version, ready, onArrive }: PictureProps) {
  const place = useRef<HTMLSpanElement>(null);
  const shown = useSignal<string | null>(null);
  const problem = useSignal<string | null>(null);
  useEffect(() => {
    const abort = new AbortController();
    const observer = new IntersectionObserver(
      (entries) => {
        if (!entries.some((entry) => entry.isIntersecting)) return;
        observer.disconnect();
        fetchPicture(address, abort.signal, ready).then(
          (blob) => {
            if (abort.signal.aborted) return;
            // the previous picture stays until the next one has arrived
            if (shown.value) URL.revokeObjectURL(shown.value);
            shown.value = URL.createObjectURL(blob);
            problem.value = null;
          },
          (error) => {
            if (!abort.signal.aborted) problem.value = getErrorMessage(error);
          },
        );
      },
      { rootMargin: AHEAD },
    );
    observer.observe(place.current!);
    return () => {
      abort.abort();
      observer.disconnect();
    };
  }, [address, version]);
  useEffect(
    () => () => {
      if (shown.value) URL.revokeObjectURL(shown.value);
    },
    [],
  );
  return (
    <span class="picture" ref={place}>
      {shown.value && (
        <img class="arrives" src={shown.value} alt={alt} onLoad={(event) => onArrive?.(event.currentTarget)} />
      )}
      {!shown.value && (
        <span class="waiting" title={problem.value ?? undefined}>
          {problem.value ? commonTexts.picture.missing : commonTexts.picture.waiting}
        </span>
      )}
    </span>
  );
}

/** A browser opens six connections to one host: two for each queue leaves two for everything else. */
const queue = pLimit(2);
/** Finished pictures do not wait behind those that have to be rendered. */
const readyQueue = pLimit(2);

/** Waits between attempts while the studio is busy or starting. */
const WAITS_S = [2, 4, 8, 15];

/** Runs a task when its turn comes. A task whose signal is aborted before that never starts. */
export function runInTurn<T>(limit: LimitFunction, task: () => Promise<T>, signal: AbortSignal): Promise<T> {
  return limit(() => {
    signal.throwIfAborted();
    return task();
  });
}

/**
 * Fetches a picture when its turn comes, and tries again while the studio is busy.
 * @param ready whether the picture is known to exist
 * @throws ApiProblem
 */
async function fetchPicture(address: string, signal: AbortSignal, ready = false): Promise<Blob> {
  for (const waitS of [...WAITS_S, null]) {
    try {
      return await runInTurn(ready ? readyQueue : queue, () => getImage(address, signal), signal);
    } catch (error) {
      const busy = error instanceof ApiProblem && (error.retryAfterS !== null || error.code === 'renderer-busy');
      if (!busy || waitS === null) throw error;
      await new Promise((resolve) => setTimeout(resolve, Math.max(waitS, error.retryAfterS ?? 0) * 1000));
      signal.throwIfAborted();
    }
  }
  throw new Error('unreachable: the last try returns or throws');
}

/** The flat colour of a finish. Hidden from screen readers, since the name stands beside it. */
export function Chip({ hex }: { readonly hex: string | null | undefined }) {
  return hex ? (
    <span class="chip" aria-hidden="true" style={{ backgroundColor: hex }} />
  ) : (
    <span class="chip none" aria-hidden="true" />
  );
}
