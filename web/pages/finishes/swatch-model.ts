import { signal } from '@preact/signals';
import type { FindImage } from '../../../renderer/page/finish-document.ts';
import type { LiveSphere } from '../../../renderer/page/live-sphere.ts';
import type { ResolvedFinish } from '../../../server/core/finish/resolve-finish.ts';

export type SwatchState = 'waiting' | 'live' | 'none';

/** The live swatch of the finish that is open: one canvas and one studio, set up when the first is opened. */
export function createSwatchModel(findImage: FindImage) {
  /** `none` where the browser gives no WebGL, or the studio failed. */
  const state = signal<SwatchState>('waiting');
  const watcher = new ResizeObserver(() => live?.resize());
  let canvas: HTMLCanvasElement | null = null;
  let live: LiveSphere | null = null;
  let begun = false;
  let wanted: ResolvedFinish | null = null;
  let shown = '';
  let running = false;
  let closed = false;

  /** Puts the canvas there until the answer is called. */
  function stand(place: HTMLElement): () => void {
    if (!canvas && state.value !== 'none') {
      canvas = document.createElement('canvas');
      canvas.setAttribute('role', 'img');
      canvas.setAttribute('aria-label', 'The finish as it is written, on a sphere in the studio’s light');
    }
    if (canvas) {
      place.append(canvas);
      watcher.observe(canvas);
      if (!begun) {
        begun = true;
        void open(canvas);
      }
      live?.resize();
    }
    return () => {
      if (!canvas) return;
      watcher.unobserve(canvas);
      canvas.remove();
    };
  }

  async function open(on: HTMLCanvasElement): Promise<void> {
    try {
      const { createLiveSphere } = await import('../../../renderer/page/live-sphere.ts');
      if (closed) return;
      live = createLiveSphere(on);
      await run();
    } catch (error) {
      fall(error);
    }
  }

  /** Shows a finish as soon as the one before is done; of several that come meanwhile the last. */
  function show(finish: ResolvedFinish): void {
    const images = Object.values(finish.maps).map((sha256) => sha256 && findImage(sha256, null)?.uri);
    const key = JSON.stringify([{ ...finish, finish: '', name: '' }, images]);
    if (key === shown) return;
    shown = key;
    wanted = finish;
    run().catch(fall);
  }

  async function run(): Promise<void> {
    if (running || !live) return;
    running = true;
    try {
      while (wanted && live) {
        const next = wanted;
        wanted = null;
        await live.show(next, findImage);
        state.value = 'live';
      }
    } finally {
      running = false;
    }
  }

  /** Without WebGL three says so in words for programmers; the chips say what can be said. */
  function fall(error: unknown): void {
    if (closed) return;
    console.warn(error);
    close();
    closed = false;
    state.value = 'none';
  }

  function close(): void {
    closed = true;
    watcher.disconnect();
    live?.dispose();
    canvas?.remove();
    live = null;
    canvas = null;
  }

  return { state, stand, show, close };
}

export type SwatchModel = ReturnType<typeof createSwatchModel>;
