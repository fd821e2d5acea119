import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { say } from '../api.ts';
import { fetchPicture } from './fetch-picture.ts';

interface PictureProps {
  readonly address: string;
  readonly alt: string;
  /** Anything that changes when the picture behind the address may have changed. */
  readonly version?: string | number;
  /** Whether it is known to be there, and has not to be taken first. */
  readonly ready?: boolean;
  readonly onArrive?: (image: HTMLImageElement) => void;
}

/** Begins to fetch this far before a picture comes into view. */
const AHEAD = '300px';

/** A picture of the service: fetched when it comes into view, in its turn, with words while it is not there. */
export function Picture({ address, alt, version, ready, onArrive }: PictureProps) {
  const place = useRef<HTMLSpanElement>(null);
  const shown = useSignal<string | null>(null);
  const trouble = useSignal<string | null>(null);
  useEffect(() => {
    const abort = new AbortController();
    const observer = new IntersectionObserver(
      (entries) => {
        if (!entries.some((entry) => entry.isIntersecting)) return;
        observer.disconnect();
        fetchPicture(address, abort.signal, ready).then(
          (blob) => {
            if (abort.signal.aborted) return;
            // the one before stays until there is another
            if (shown.value) URL.revokeObjectURL(shown.value);
            shown.value = URL.createObjectURL(blob);
            trouble.value = null;
          },
          (error) => {
            if (!abort.signal.aborted) trouble.value = say(error);
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
        <span class="waiting" title={trouble.value ?? undefined}>
          {trouble.value ? 'No picture' : 'Picture on its way'}
        </span>
      )}
    </span>
  );
}
