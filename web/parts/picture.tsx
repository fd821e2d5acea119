import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { getErrorMessage } from '../api.ts';
import { commonTexts } from '../texts/common.ts';
import { fetchPicture } from './fetch-picture.ts';

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
            // the previous picture stays until the next one has arrived
            if (shown.value) URL.revokeObjectURL(shown.value);
            shown.value = URL.createObjectURL(blob);
            trouble.value = null;
          },
          (error) => {
            if (!abort.signal.aborted) trouble.value = getErrorMessage(error);
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
          {trouble.value ? commonTexts.picture.missing : commonTexts.picture.waiting}
        </span>
      )}
    </span>
  );
}
