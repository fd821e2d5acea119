import { useSignal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useEffect } from 'preact/hooks';

/** Shows an element on the full screen, or over the whole window where the browser has no full screen for it. */
export function useFullScreen(place: RefObject<HTMLElement | null>) {
  const on = useSignal(false);
  const inWindow = useSignal(false);
  useEffect(() => {
    const follow = () => {
      on.value = document.fullscreenElement === place.current;
    };
    const leave = (event: KeyboardEvent) => {
      if (event.key !== 'Escape' || !inWindow.value) return;
      inWindow.value = false;
      on.value = false;
    };
    document.addEventListener('fullscreenchange', follow);
    document.addEventListener('keydown', leave);
    return () => {
      document.removeEventListener('fullscreenchange', follow);
      document.removeEventListener('keydown', leave);
    };
  }, []);

  async function toggle(): Promise<void> {
    if (document.fullscreenElement === place.current) return document.exitFullscreen();
    if (!inWindow.value) {
      try {
        return await place.current!.requestFullscreen();
      } catch {
        // phones of some makers, and frames that do not allow it
      }
    }
    inWindow.value = !inWindow.value;
    on.value = inWindow.value;
  }

  return { on, inWindow, toggle };
}
