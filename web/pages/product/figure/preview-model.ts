import { signal } from '@preact/signals';
import type { LiveView } from '../../../../renderer/page/live-view.ts';
import type { Mount, View } from '../../../../server/core/picture/picture.ts';
import type { AssignedMaterial } from '../../../../server/core/ports/renderer.ts';
import type { LivePreviewAnswer } from '../../../../server/http/contracts/model.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';
import { productTexts } from '../../../texts/product.ts';

type PreviewState = 'waiting' | 'live' | 'still';

/**
 * The live preview: one canvas that moves between the frames of the page, the figure and the open variant. The newest
 * frame shows it; when that frame goes, the previous one gets it back.
 */
export function createPreviewModel(product: string) {
  const state = signal<PreviewState>('waiting');
  /** Why only a still picture is shown. */
  const problem = signal<string | null>(null);
  const view = signal<View>('three-quarter');
  /** The frame that shows the canvas. */
  const frame = signal<HTMLElement | null>(null);
  const frames: HTMLElement[] = [];
  let canvas: HTMLCanvasElement | null = null;
  let live: LiveView | null = null;
  let look: LivePreviewAnswer | null = null;
  let file = '';
  let choices: Readonly<Record<string, string>> = {};
  let closed = false;
  const watcher = new ResizeObserver(() => live?.resize());

  function moveCanvas(): void {
    const newest = frames.at(-1) ?? null;
    frame.value = newest;
    if (!canvas || !newest) return;
    watcher.disconnect();
    newest.append(canvas);
    watcher.observe(newest);
    live?.resize();
  }

  /** Shows the canvas in a frame. @returns releases the frame */
  function showIn(next: HTMLElement): () => void {
    frames.push(next);
    moveCanvas();
    return () => {
      frames.splice(frames.indexOf(next), 1);
      moveCanvas();
    };
  }

  /** Starts the preview, or updates it after a change of model or options. It reloads the file only if that changed. */
  async function load(): Promise<void> {
    try {
      const [{ createLiveView }, answer] = await Promise.all([
        import('../../../../renderer/page/live-view.ts'),
        get<LivePreviewAnswer>(`/api/products/${seg(product)}/look`),
      ]);
      if (closed) return;
      look = answer;
      if (!live) {
        canvas = document.createElement('canvas');
        canvas.tabIndex = 0;
        canvas.setAttribute('role', 'img');
        moveCanvas();
        live = openLiveView(createLiveView, canvas);
      }
      if (file !== answer.file) await live.load(answer.file, answer.mount as Mount);
      file = answer.file;
      await applyChoices();
      state.value = 'live';
      problem.value = null;
    } catch (error) {
      if (!closed) fallBack(error);
    }
  }

  /** Shows the still picture: without WebGL, or where the file cannot be shown. */
  function fallBack(error: unknown): void {
    console.warn(error);
    live?.dispose();
    canvas?.remove();
    live = null;
    canvas = null;
    file = '';
    state.value = 'still';
    problem.value = productTexts.figure.previewFailed(getErrorMessage(error).replace(/\.$/, ''));
  }

  async function applyChoices(): Promise<void> {
    if (look && live) await live.assign(planPreview(look, choices));
  }

  function show(next: Readonly<Record<string, string>>, label: string): void {
    choices = next;
    canvas?.setAttribute('aria-label', productTexts.figure.canvasLabel(label));
    applyChoices().catch(fallBack);
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

  return { state, problem, view, frame, showIn, load, show, setView, close };
}

/**
 * The material of the preview's file for each part. Null without a choice, or where the file lacks the finish: the part
 * then keeps its original material.
 */
export function planPreview(
  look: Pick<LivePreviewAnswer, 'parts'>,
  choices: Readonly<Record<string, string>>,
): AssignedMaterial[] {
  return look.parts.map(({ slot, mesh, primitive, materials }) => {
    const finish = choices[slot];
    return { mesh, primitive, material: finish === undefined ? null : (materials[finish] ?? null) };
  });
}

/** Replaces the programmer's message of three.js where WebGL is missing. */
function openLiveView(create: (canvas: HTMLCanvasElement) => LiveView, canvas: HTMLCanvasElement): LiveView {
  try {
    return create(canvas);
  } catch (error) {
    throw new Error(productTexts.figure.noWebGl, { cause: error });
  }
}
