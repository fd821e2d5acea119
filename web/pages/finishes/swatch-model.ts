import { signal } from '@preact/signals';
import type { FindImage } from '../../../renderer/page/finish-document.ts';
import type { LiveSphere } from '../../../renderer/page/live-sphere.ts';
import type { ResolvedFinish } from '../../../server/core/finish/resolve-finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';

type SwatchState = 'waiting' | 'live' | 'none';

/** The live swatch of the open finish. One canvas and one studio serve the page, created with the first finish. */
export function createSwatchModel(findImage: FindImage) {
  /** `none` if the browser has no WebGL or the studio fails. */
  const state = signal<SwatchState>('waiting');
  const watcher = new ResizeObserver(() => live?.resize());
  let canvas: HTMLCanvasElement | null = null;
  let live: LiveSphere | null = null;
  let begun = false;
  let wanted: ResolvedFinish | null = null;
  let shown = '';
  let running = false;
  let closed = false;

  /** Moves the canvas into an element. @returns takes it out again */
  function attach(place: HTMLElement): () => void {
    if (!canvas && state.value !== 'none') {
      canvas = document.createElement('canvas');
      canvas.setAttribute('role', 'img');
      canvas.setAttribute('aria-label', finishesTexts.draft.live);
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
      fail(error);
    }
  }

  /** Shows a finish once the previous one is drawn. Of several that arrive while it draws, only the last is drawn. */
  function show(finish: ResolvedFinish): void {
    const images = Object.values(finish.maps).map((sha256) => sha256 && findImage(sha256, null)?.uri);
    const key = JSON.stringify([{ ...finish, finish: '', name: '' }, images]);
    if (key === shown) return;
    shown = key;
    wanted = finish;
    run().catch(fail);
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

  /** Logs the error, which is written for programmers; the chips still show the colours. */
  function fail(error: unknown): void {
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

  return { state, attach, show, close };
}
