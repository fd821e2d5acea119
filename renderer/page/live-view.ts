import type { Mount, View } from '../../server/core/picture/picture.ts';
import { STANDS, type Stand } from '../../server/core/picture/place-camera.ts';
import type { AssignedMaterial } from '../../server/core/ports/renderer.ts';
import { classifyDriver } from '../driver.ts';
import { createPresenter } from './accumulate.ts';
import { SUBSAMPLES } from './camera.ts';
import { createDecoders } from './decoders.ts';
import { calibrate } from './grey-card.ts';
import { assignMaterials, disposeProduct, loadAssignment, loadProduct, type Product } from './load-product.ts';
import { poseProduct } from './pose-product.ts';
import { createStudioScene, getGlName, PRODUCT_RIG } from './studio-scene.ts';

/** A product on a page, in the light of its pictures. The user can turn it and change its finishes. */
export interface LiveView {
  /** Shows a studio file instead of the current one. Rejects with a `StudioProblem` when it cannot be shown. */
  load(url: string, mount?: Mount): Promise<void>;
  /** Changes finishes without loading the file again. */
  assign(assignments: readonly AssignedMaterial[]): Promise<void>;
  setView(view: View): void;
  /** Call when the size of the canvas on the page changes. */
  resize(): void;
  dispose(): void;
}

/** More than two device pixels per CSS pixel make no visible difference, and the cost grows with their square. */
const MAX_PIXEL_RATIO = 2;

/**
 * Draws only on demand. After a change the picture appears at once, and the next frames refine it to the quality of a
 * still. Then drawing stops until the next change.
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
  /** Number of the load that brought the current product. */
  let shown = 0;
  let latest = 0;
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
    async assign(assignments) {
      const number = ++latest;
      const target = product;
      if (!target) return;
      const assignment = await loadAssignment(target, assignments);
      // A later call or another file has replaced this one.
      if (number !== latest || target !== product) return;
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

/** Degrees of turn per CSS pixel of a drag, and per press of an arrow key. */
const DEGREES_PER_PX = 0.4;
const DEGREES_PER_KEY = 15;

/** The camera stays above the floor and below the zenith. */
const ELEVATION = { min: -2, max: 89 } as const;

interface Orbit {
  getStand(): Stand;
  setStand(stand: Stand): void;
  isHeld(): boolean;
  dispose(): void;
}

/** Turns by drags and arrow keys. It calls `onChange` after every change of the stand, and at the end of a drag. */
function createOrbit(element: HTMLElement, start: Stand, onChange: () => void): Orbit {
  let stand = start;
  let held: number | undefined;
  const ends = new AbortController();
  const { signal } = ends;
  // A finger turns the product sideways and scrolls the page up and down.
  element.style.touchAction = 'pan-y';

  function move(yaw: number, elevation: number): void {
    stand = {
      yawDegrees: ((stand.yawDegrees + yaw + 540) % 360) - 180,
      elevationDegrees: Math.min(Math.max(stand.elevationDegrees + elevation, ELEVATION.min), ELEVATION.max),
    };
    onChange();
  }
  const on = <Name extends keyof HTMLElementEventMap>(name: Name, act: (event: HTMLElementEventMap[Name]) => void) =>
    element.addEventListener(name, act, { signal });

  on('pointerdown', (event) => {
    if (event.button !== 0) return;
    held = event.pointerId;
    element.setPointerCapture(held);
  });
  on('pointermove', (event) => {
    if (event.pointerId === held) move(-event.movementX * DEGREES_PER_PX, event.movementY * DEGREES_PER_PX);
  });
  const release = () => {
    held = undefined;
    onChange();
  };
  on('pointerup', release);
  on('pointercancel', release);
  on('keydown', (event) => {
    const steps: Readonly<Record<string, readonly [number, number]>> = {
      ArrowLeft: [DEGREES_PER_KEY, 0],
      ArrowRight: [-DEGREES_PER_KEY, 0],
      ArrowUp: [0, DEGREES_PER_KEY],
      ArrowDown: [0, -DEGREES_PER_KEY],
    };
    const step = steps[event.key];
    if (!step) return;
    event.preventDefault();
    move(...step);
  });

  return {
    getStand: () => stand,
    setStand(next) {
      stand = next;
      onChange();
    },
    isHeld: () => held !== undefined,
    dispose: () => ends.abort(),
  };
}
