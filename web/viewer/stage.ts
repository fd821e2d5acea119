import { createLiveView } from '../../renderer/page/live-view.ts';
import type { Mount } from '../../server/core/picture/picture.ts';
import type { Assigned } from './plan-choices.ts';

/** The product in 3D, in the light of the house's pictures. Loaded when the file's choices are already shown. */
export interface Stage {
  assign(assigned: readonly Assigned[]): Promise<void>;
  zoom(factor: number): void;
  fit(): void;
  resize(): void;
  dispose(): void;
}

/** Workers are files beside this script, so that a policy of `default-src 'self'` lets them run. */
const WORKERS = new URL(/* @vite-ignore */ '.', import.meta.url).href;

/**
 * Shows a file on a canvas.
 * @param events `onDrawn`: a picture is on the canvas; `onLost`: the browser took the graphics away
 * @throws StudioProblem for a file that cannot be shown; Error without WebGL 2
 */
export async function openStage(
  canvas: HTMLCanvasElement,
  bytes: Uint8Array,
  mount: Mount,
  assigned: readonly Assigned[],
  events: { readonly onDrawn: () => void; readonly onLost: () => void },
): Promise<Stage> {
  const view = createLiveView(canvas, events, WORKERS);
  const assign = (wanted: readonly Assigned[]) => view.assign([wanted]);
  try {
    await view.load(bytes, { mount, pieces: null });
    await assign(assigned);
  } catch (error) {
    view.dispose();
    throw error;
  }
  const { zoom, fit, resize, dispose } = view;
  return { assign, zoom, fit, resize, dispose };
}
