import type { Mount, View } from '../../server/core/picture/picture.ts';
import type { Dressing } from '../../server/core/ports/renderer.ts';
import { classifyDriver } from '../driver.ts';
import { assignMaterials, loadAssignment } from './assign-materials.ts';
import { createDecoders } from './create-decoders.ts';
import { STANDS } from './frame-view.ts';
import { calibrate } from './grey-card.ts';
import { disposeProduct, loadProduct, type Product } from './load-product.ts';
import { createOrbit } from './orbit.ts';
import { poseProduct } from './pose-product.ts';
import { createPresenter } from './present.ts';
import { createStudioScene, getGlName, PRODUCT_RIG } from './studio-scene.ts';
import { SUBSAMPLES } from './subsamples.ts';

/** A product on a page, in the light of its pictures, to be turned and re-dressed. */
export interface LiveView {
  /** Shows a studio file; the one before goes. Rejects with a `StudioProblem` when it cannot be shown. */
  load(url: string, mount?: Mount): Promise<void>;
  /** Puts finishes on without loading the file again. */
  dress(dressing: readonly Dressing[]): Promise<void>;
  setView(view: View): void;
  /** Call when the canvas has another size on the page. */
  resize(): void;
  dispose(): void;
}

/** More than two device pixels per CSS pixel are not seen, and cost in square. */
const MAX_PIXEL_RATIO = 2;

/**
 * Draws on demand only: after a change the picture appears at once and is refined to the quality of a still over the
 * next frames, then nothing is drawn until the next change.
 */
export function createLiveView(canvas: HTMLCanvasElement): LiveView {
  const studio = createStudioScene(canvas);
  calibrate(studio, PRODUCT_RIG);
  const decoders = createDecoders(studio.renderer);
  const presenter = createPresenter(studio.renderer);
  const software = classifyDriver(getGlName(studio.renderer)) !== 'gpu';
  const orbit = createOrbit(canvas, STANDS['three-quarter'], restart);
  let product: Product | undefined;
  let mount: Mount = 'floor';
  let loads = 0;
  /** The load that the product in sight came by. */
  let shown = 0;
  let dressings = 0;
  let frame = 0;
  let taken = 0;
  let size = { widthPx: 1, heightPx: 1 };

  function restart(): void {
    taken = 0;
    if (!frame && product) frame = requestAnimationFrame(draw);
  }

  function draw(): void {
    frame = 0;
    if (!product) return;
    if (taken === 0) {
      studio.accumulator.reset();
      const settled = software ? 'draft' : 'still';
      poseProduct(studio, product, {
        stand: orbit.getStand(),
        mount,
        quality: orbit.isHeld() ? (software ? 'moving' : 'draft') : settled,
        ...size,
        productKey: `live ${shown}`,
        steady: true,
      });
    }
    studio.light.use(taken);
    studio.addSubsample(taken);
    presenter.show(studio.accumulator);
    taken++;
    if (taken < (orbit.isHeld() ? SUBSAMPLES.draft : SUBSAMPLES.still)) frame = requestAnimationFrame(draw);
  }

  function resize(): void {
    const ratio = Math.min(globalThis.devicePixelRatio || 1, MAX_PIXEL_RATIO);
    const widthPx = Math.max(1, Math.round(canvas.clientWidth * ratio));
    const heightPx = Math.max(1, Math.round(canvas.clientHeight * ratio));
    size = { widthPx, heightPx };
    studio.renderer.setSize(widthPx, heightPx, false);
    studio.setSize(widthPx, heightPx);
    restart();
  }

  resize();
  return {
    async load(url, nextMount = 'floor') {
      const load = ++loads;
      const next = await loadProduct(decoders, url);
      if (load !== loads) return disposeProduct(next);
      studio.show([]);
      if (product) disposeProduct(product);
      product = next;
      shown = load;
      mount = nextMount;
      restart();
    },
    async dress(dressing) {
      const number = ++dressings;
      const dressed = product;
      if (!dressed) return;
      const assignment = await loadAssignment(dressed, dressing);
      // a later dressing or another file has overtaken this one
      if (number !== dressings || dressed !== product) return;
      assignMaterials(assignment);
      restart();
    },
    setView: (view) => orbit.setStand(STANDS[view]),
    resize,
    dispose() {
      loads++;
      cancelAnimationFrame(frame);
      orbit.dispose();
      if (product) disposeProduct(product);
      product = undefined;
      for (const part of [decoders, presenter, studio]) part.dispose();
    },
  };
}
