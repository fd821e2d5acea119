import { signal } from '@preact/signals';
import type { LiveView } from '../../../renderer/page/live-view.ts';
import type { Mount, View } from '../../../server/core/picture/picture.ts';
import type { LookAnswer } from '../../../server/http/contracts/model.ts';
import { get, getErrorMessage, seg } from '../../api.ts';
import { planPreview } from './dressing.ts';

export type PreviewState = 'waiting' | 'live' | 'still';

/**
 * The live preview: one canvas that is shown wherever the reader works, in the figure or in the row that is open.
 * The newest place that asks has it; when that goes, the one before gets it back.
 */
export function createPreviewModel(product: string) {
  const state = signal<PreviewState>('waiting');
  /** Why there is only a still picture. */
  const trouble = signal<string | null>(null);
  const view = signal<View>('three-quarter');
  const holder = signal<HTMLElement | null>(null);
  const places: HTMLElement[] = [];
  let canvas: HTMLCanvasElement | null = null;
  let live: LiveView | null = null;
  let look: LookAnswer | null = null;
  let file = '';
  let choices: Readonly<Record<string, string>> = {};
  let closed = false;
  const watcher = new ResizeObserver(() => live?.resize());

  function settle(): void {
    const place = places.at(-1) ?? null;
    holder.value = place;
    if (!canvas || !place) return;
    watcher.disconnect();
    place.append(canvas);
    watcher.observe(place);
    live?.resize();
  }

  /** Shows the canvas there until the answer is called. */
  function stand(place: HTMLElement): () => void {
    places.push(place);
    settle();
    return () => {
      places.splice(places.indexOf(place), 1);
      settle();
    };
  }

  /** Begins, or follows a change of model or options; the file is loaded again only when it is another. */
  async function load(): Promise<void> {
    try {
      const [{ createLiveView }, answer] = await Promise.all([
        import('../../../renderer/page/live-view.ts'),
        get<LookAnswer>(`/api/products/${seg(product)}/look`),
      ]);
      if (closed) return;
      look = answer;
      if (!live) {
        canvas = document.createElement('canvas');
        canvas.tabIndex = 0;
        canvas.setAttribute('role', 'img');
        settle();
        live = openLive(createLiveView, canvas);
      }
      if (file !== answer.file) await live.load(answer.file, answer.mount as Mount);
      file = answer.file;
      await dress();
      state.value = 'live';
      trouble.value = null;
    } catch (error) {
      if (!closed) fall(error);
    }
  }

  /** Without WebGL, or with a file it cannot show, the still picture stands in. */
  function fall(error: unknown): void {
    console.warn(error);
    live?.dispose();
    canvas?.remove();
    live = null;
    canvas = null;
    file = '';
    state.value = 'still';
    trouble.value = `The live preview cannot be shown: ${getErrorMessage(error).replace(/\.$/, '')}. This is the still picture.`;
  }

  async function dress(): Promise<void> {
    if (look && live) await live.dress(planPreview(look, choices));
  }

  function show(next: Readonly<Record<string, string>>, label: string): void {
    choices = next;
    canvas?.setAttribute('aria-label', `${label}. Drag, or use the arrow keys, to turn it.`);
    dress().catch(fall);
  }

  function setView(next: View): void {
    view.value = next;
    live?.setView(next);
  }

  function close(): void {
    closed = true;
    watcher.disconnect();
    live?.dispose();
    canvas?.remove();
    live = null;
  }

  return { state, trouble, view, holder, stand, load, show, setView, close };
}

export type PreviewModel = ReturnType<typeof createPreviewModel>;

/** Without WebGL three says so in words for programmers. */
function openLive(create: (canvas: HTMLCanvasElement) => LiveView, canvas: HTMLCanvasElement): LiveView {
  try {
    return create(canvas);
  } catch (error) {
    throw new Error('it needs WebGL, which this browser does not give', { cause: error });
  }
}
