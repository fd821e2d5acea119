import { type Material, Matrix4, type Mesh } from 'three';
import type { Mount, View } from '../../server/core/picture/picture.ts';
import { PRODUCT_FILL, STANDS } from '../../server/core/picture/place-camera.ts';
import type { AssignedMaterial } from '../../server/core/ports/renderer.ts';
import type { PieceMap } from '../../server/core/product/piece-map.ts';
import { classifyDriver } from '../driver.ts';
import { type Accumulator, createAccumulator, createPresenter } from './accumulate.ts';
import { breathe } from './breathe.ts';
import { SUBSAMPLES } from './camera.ts';
import { createDecoders } from './decoders.ts';
import { createFlatMaterials } from './flat-material.ts';
import { calibrate } from './grey-card.ts';
import { assignMaterials, disposeProduct, loadAssignment, loadProduct, type Product } from './load-product.ts';
import { poseProduct } from './pose-product.ts';
import { createStudioScene, getGlName, PRODUCT_RIG } from './studio-scene.ts';
import { listTextures } from './studio-shading.ts';
import { fitShot, getCrop, panShot, type Shot, turnShot, type ViewPlace, zoomShot } from './view/camera-moves.ts';
import { listenToGestures } from './view/gestures.ts';
import { createMarks, type MarkColours } from './view/marks.ts';
import { createPartPicking } from './view/part-picking.ts';
import type { Hit, Selection } from './view/picker.ts';
import { type PaneGrid, planPanes } from './view/plan-panes.ts';

export type { Hit, Selection } from './view/picker.ts';

/** `even`: light from everywhere, without shade and shine, so that every finish shows its own colour. */
export type ViewLight = 'studio' | 'even';

/** How a view shows the product now. */
export interface Camera {
  readonly shot: Shot;
  /** From the product's own axes, metres, to −1–1 across each pane; column by column. */
  readonly matrix: readonly number[];
  readonly grid: PaneGrid;
  /** Of one pane, CSS px. */
  readonly width: number;
  readonly height: number;
}

/** What happens in a view. Places are shares of a pane. */
export interface ViewEvents {
  onCamera?(camera: Camera): void;
  /** A pointer rests on a part, or on none. `at`: CSS px from the corner of the view. */
  onPoint?(hit: Hit | null, at: { readonly x: number; readonly y: number }): void;
  onPick?(hit: Hit | null, adds: boolean): void;
  /** The line of a lasso while it is drawn; CSS px from the corner of the view. Empty at its end. */
  onLassoLine?(line: readonly { readonly x: number; readonly y: number }[]): void;
  onLasso?(pieces: readonly string[], adds: boolean): void;
  /** Escape. */
  onLeave?(): void;
  /** The browser took the graphics away. */
  onLost?(): void;
  /** A picture of the product is on the canvas; `finished` when it will not get better. */
  onDrawn?(finished: boolean): void;
}

interface LoadOptions {
  readonly mount?: Mount;
  /** Tells pieces apart as soon as it is there; until then only whole parts are known. Null: nothing can be pointed at. */
  readonly pieces?: Promise<PieceMap | null> | null;
  /** The finishes it has from its first picture on, for each variant side by side. */
  readonly panes?: readonly (readonly AssignedMaterial[])[];
}

/** A product on a page, in the light of its pictures. The user can turn it, change its finishes, and point at its parts. */
export interface LiveView {
  /**
   * Shows a studio file instead of the current one. Rejects with a `StudioProblem` when it cannot be shown.
   * @param file its address, or the bytes of a GLB
   */
  load(file: string | Uint8Array, options?: LoadOptions): Promise<void>;
  /** Changes finishes without loading the file again: one assignment for each variant side by side. */
  assign(panes: readonly (readonly AssignedMaterial[])[]): Promise<void>;
  setView(view: View): void;
  fit(): void;
  /** Enlarges by a factor. */
  zoom(factor: number): void;
  turn(yawDegrees: number, elevationDegrees: number): void;
  /** Moves the picture by shares of the view. */
  pan(right: number, down: number): void;
  setLight(light: ViewLight): void;
  /** Leaves room around the product, for a drawing over it. */
  setRoom(on: boolean): void;
  /** Draws lines around parts. */
  mark(lit: Selection, picked: Selection): void;
  setMarkColours(colours: MarkColours): void;
  /** Whether drags draw a lasso. */
  setLasso(on: boolean): void;
  /** What a viewer sees at a place, as a share of a pane; null without a part, or before the parts are known. */
  pickAt(at: ViewPlace): Hit | null;
  /** Resolves when parts can be pointed at; to whether pieces are known. */
  whenPickable(): Promise<boolean>;
  /** Call when the size of the canvas on the page changes. */
  resize(): void;
  dispose(): void;
}

/** More than two device pixels per CSS pixel make no visible difference, and the cost grows with their square. */
const MAX_PIXEL_RATIO = 2;
/** Without a GPU, moving and first pictures have this share of the pixels along each side. */
const COARSE = 0.5;
/**
 * Exposure of the first pictures without a GPU, before the grey card is shot, which takes as long as the picture itself.
 * The card gives the same, to a thousandth.
 */
const FIRST_EXPOSURE = 1.1098;
/** After this long without another step of wheel or keys, the picture is refined. */
const REST_MS = 160;
/** A first coarse picture reaches the screen in this time, before the finer one keeps the graphics busy. */
const FINISH_AFTER_MS = 50;
/** Share of the view that the product fills, so that dimension lines have room. */
const ROOMY_FILL = 0.68;

interface Pane {
  readonly materials: ReadonlyMap<Mesh, Material>;
  readonly sum: Accumulator;
}

/**
 * Draws only on demand. After a change the picture appears at once, and the next frames refine it to the quality of a
 * still. Then drawing stops until the next change.
 * @param workers folder with the decoders' workers as files; null: they are made from `blob:`
 */
export function createLiveView(
  canvas: HTMLCanvasElement,
  events: ViewEvents = {},
  workers: string | null = null,
): LiveView {
  const studio = createStudioScene(canvas);
  const { renderer } = studio;
  const software = classifyDriver(getGlName(renderer)) !== 'gpu';
  let calibrated = !software;
  if (calibrated) calibrate(studio, PRODUCT_RIG);
  else {
    studio.useRig(PRODUCT_RIG);
    studio.expose(FIRST_EXPOSURE);
  }
  const decoders = createDecoders(renderer, workers);
  const presenter = createPresenter(renderer);
  const marks = createMarks(studio);
  const parts = createPartPicking(studio, marks, repaint);
  const sums: Accumulator[] = [studio.accumulator];
  /** For even light. */
  const flat = createFlatMaterials();
  let panes: readonly Pane[] = [];
  let product: Product | undefined;
  let mount: Mount = 'floor';
  let shot = fitShot();
  let light: ViewLight = 'studio';
  let lassoing = false;
  let room = false;
  let held = false;
  let rest: ReturnType<typeof setTimeout> | undefined;
  let finish: ReturnType<typeof setTimeout> | undefined;
  /** Materials whose programs and maps the graphics have. */
  const warmed = new WeakSet<Material>();
  let loads = 0;
  /** Number of the load that brought the current product. */
  let shown = 0;
  let latest = 0;
  let frame = 0;
  let taken = 0;
  /** Whether the next picture is the first of a product. */
  let isFirst = true;
  let pointed: { readonly at: ViewPlace; readonly x: number; readonly y: number } | null = null;
  let css = { width: 1, height: 1, ratio: 1 };
  let grid: PaneGrid = { columns: 1, rows: 1 };
  let drawn = { widthPx: 1, heightPx: 1, scale: 0 };

  function restart(): void {
    taken = 0;
    schedule();
  }

  function schedule(): void {
    if (!frame && product) frame = requestAnimationFrame(draw);
  }

  const isCoarse = () => software && (held || isFirst);

  function draw(): void {
    frame = 0;
    if (!product) return;
    if (pointed && !held) reportPointed(pointed);
    const limit = held ? SUBSAMPLES.draft : SUBSAMPLES.still;
    if (taken === 0) begin();
    if (taken < limit) addSubsample();
    present();
    events.onDrawn?.(taken >= limit && !isCoarse());
    if (isFirst && software) {
      isFirst = false;
      finish = setTimeout(restart, FINISH_AFTER_MS);
    } else if (taken < limit) schedule();
  }

  /** Shoots the grey card, once. */
  function settleExposure(): void {
    if (calibrated) return;
    calibrated = true;
    calibrate(studio, PRODUCT_RIG);
    // the card has changed the size of the drawing
    drawn = { ...drawn, scale: 0 };
  }

  function begin(): void {
    if (!isFirst) settleExposure();
    resizeDrawing(isCoarse() ? COARSE : 1);
    const { widthPx, heightPx } = drawn;
    studio.crop(getCrop(shot, widthPx, heightPx));
    panes.forEach(({ sum }) => {
      sum.reset();
    });
    pose(panes[0]!);
    if (marks.any()) marks.prepare(widthPx, heightPx);
    reportCamera();
  }

  function pose({ materials }: Pane): void {
    for (const [mesh, material] of materials) mesh.material = light === 'even' ? flat.get(material) : material;
    const settled = software ? 'draft' : 'still';
    poseProduct(studio, product!, {
      stand: shot,
      mount,
      quality: isCoarse() ? 'moving' : held ? 'draft' : settled,
      widthPx: drawn.widthPx,
      heightPx: drawn.heightPx,
      productKey: `live ${shown}`,
      framing: { fill: room ? ROOMY_FILL : PRODUCT_FILL },
      steady: true,
      even: light === 'even',
      open: isFirst && software,
    });
  }

  function addSubsample(): void {
    panes.forEach((pane, at) => {
      // the first pane is posed when the picture begins
      if (panes.length > 1 && (taken > 0 || at > 0)) pose(pane);
      if (light === 'studio' && !(isFirst && software)) studio.light.use(taken);
      studio.addSubsample(taken, undefined, pane.sum);
    });
    taken++;
  }

  function present(): void {
    const { widthPx, heightPx, scale } = drawn;
    panes.forEach(({ sum }, at) => {
      const column = at % grid.columns;
      const row = Math.floor(at / grid.columns);
      renderer.setViewport(column * widthPx, (grid.rows - 1 - row) * heightPx, widthPx, heightPx);
      presenter.show(sum);
      if (marks.any()) marks.draw(css.ratio * scale);
    });
  }

  /** Marks change nothing in the picture, which is only shown again. */
  function repaint(): void {
    if (!product || taken === 0) return;
    if (marks.any()) marks.prepare(drawn.widthPx, drawn.heightPx);
    schedule();
  }

  /** Fits the drawing to the canvas at a share of its resolution. */
  function resizeDrawing(scale: number): void {
    const widthPx = Math.max(1, Math.round((css.width * css.ratio * scale) / grid.columns));
    const heightPx = Math.max(1, Math.round((css.height * css.ratio * scale) / grid.rows));
    if (drawn.widthPx === widthPx && drawn.heightPx === heightPx && drawn.scale === scale) return;
    drawn = { widthPx, heightPx, scale };
    renderer.setSize(widthPx * grid.columns, heightPx * grid.rows, false);
    studio.setSize(widthPx, heightPx);
    for (const sum of sums) sum.resize({ left: 0, top: 0, widthPx, heightPx });
  }

  function resize(): void {
    const ratio = Math.min(globalThis.devicePixelRatio || 1, MAX_PIXEL_RATIO);
    css = { width: Math.max(1, canvas.clientWidth), height: Math.max(1, canvas.clientHeight), ratio };
    grid = planPanes(panes.length, css.width, css.height);
    drawn = { ...drawn, scale: 0 };
    restart();
  }

  function reportCamera(): void {
    if (!events.onCamera) return;
    const matrix = studio.withCamera((camera) =>
      new Matrix4()
        .multiplyMatrices(camera.projectionMatrix, camera.matrixWorldInverse)
        .multiply(studio.turntable.matrixWorld)
        .toArray(),
    );
    const { columns, rows } = grid;
    events.onCamera({ shot, matrix, grid, width: css.width / columns, height: css.height / rows });
  }

  function move(next: Shot, stays: boolean): void {
    shot = next;
    held = true;
    clearTimeout(rest);
    restart();
    if (stays) return;
    rest = setTimeout(() => {
      held = false;
      restart();
    }, REST_MS);
  }

  function jump(next: Shot): void {
    clearTimeout(rest);
    held = false;
    shot = next;
    restart();
  }

  /** The same place in CSS px from the corner of the view, in the first pane. */
  const toCss = ({ x, y }: ViewPlace) => ({
    x: (x * css.width) / grid.columns,
    y: (y * css.height) / grid.rows,
  });

  function reportPointed({ at, x, y }: NonNullable<typeof pointed>): void {
    pointed = null;
    events.onPoint?.(parts.pickAt(at), { x, y });
  }

  /** The parts, and the flat materials, of a product that goes. */
  function dropParts(): void {
    parts.drop();
    flat.drop();
  }

  async function loadPanes(target: Product, wanted: readonly (readonly AssignedMaterial[])[]) {
    const loaded = [];
    for (const assignments of wanted) loaded.push(await loadAssignment(target, assignments));
    return loaded;
  }

  function usePanes(next: readonly ReadonlyMap<Mesh, Material>[]): void {
    while (sums.length < next.length) sums.push(createAccumulator(renderer));
    panes = next.map((materials, at) => ({ materials, sum: sums[at]! }));
  }

  /** Compiles and uploads what is new in some panes, a little at a time, so that no picture waits for it. */
  async function warm(target: Product, next: readonly ReadonlyMap<Mesh, Material>[]): Promise<void> {
    for (const materials of next) {
      const fresh = [...new Set(materials.values())].filter((material) => !warmed.has(material));
      for (const material of fresh) {
        warmed.add(material);
        studio.prepare(material);
        for (const texture of listTextures(material)) {
          await breathe();
          renderer.initTexture(texture);
        }
      }
      if (fresh.length > 0) await studio.compile(target.root, materials);
    }
  }

  async function lasso(line: readonly ViewPlace[], adds: boolean): Promise<void> {
    const pieces = await parts.listEnclosed(line, drawn);
    if (pieces) events.onLasso?.(pieces, adds);
  }

  const stopGestures = listenToGestures(canvas, {
    getShot: () => shot,
    getGrid: () => grid,
    move,
    fit: () => jump(fitShot(shot)),
    point(at, { clientX, clientY }) {
      if (at) {
        const { left, top } = canvas.getBoundingClientRect();
        pointed = { at, x: clientX - left, y: clientY - top };
        schedule();
      } else {
        pointed = null;
        events.onPoint?.(null, { x: 0, y: 0 });
      }
    },
    pick: (at, adds) => events.onPick?.(parts.pickAt(at), adds),
    isLassoing: () => lassoing,
    lasso(line, done, adds) {
      events.onLassoLine?.(done ? [] : line.map(toCss));
      if (done) void lasso(line, adds);
    },
    leave: () => events.onLeave?.(),
  });
  const onLost = (event: Event) => {
    event.preventDefault();
    cancelAnimationFrame(frame);
    events.onLost?.();
  };
  canvas.addEventListener('webglcontextlost', onLost);

  resize();
  return {
    async load(file, { mount: nextMount = 'floor', pieces = Promise.resolve(null), panes: wanted = [] } = {}) {
      const load = ++loads;
      const next = await loadProduct(decoders, file);
      let nextPanes: readonly ReadonlyMap<Mesh, Material>[] = [next.ownMaterials];
      try {
        if (wanted.length > 0) nextPanes = (await loadPanes(next, wanted)).map(({ materials }) => materials);
        await warm(next, nextPanes);
      } catch (error) {
        disposeProduct(next);
        throw error;
      }
      if (load !== loads) return disposeProduct(next);
      // what was asked for before is of another file
      latest++;
      clearTimeout(finish);
      studio.show([]);
      dropParts();
      if (product) disposeProduct(product);
      product = next;
      shown = load;
      mount = nextMount;
      usePanes(nextPanes);
      isFirst = true;
      resize();
      if (pieces) parts.use(next, pieces);
    },
    async assign(wanted) {
      const number = ++latest;
      const target = product;
      if (!target || wanted.length === 0) return;
      const loaded = await loadPanes(target, wanted);
      if (number !== latest || target !== product) return;
      await warm(
        target,
        loaded.map(({ materials }) => materials),
      );
      // A later call or another file has replaced this one.
      if (number !== latest || target !== product) return;
      flat.drop();
      const before = panes.length;
      usePanes(loaded.map(({ materials }) => materials));
      // the first number, so that no pane loses its finishes
      assignMaterials(loaded[0]!);
      if (before === panes.length) restart();
      else resize();
    },
    setView: (view) => jump(fitShot(STANDS[view])),
    fit: () => jump(fitShot(shot)),
    zoom: (factor) => jump(zoomShot(shot, factor)),
    turn: (yaw, elevation) => jump(turnShot(shot, yaw, elevation)),
    pan: (right, down) => jump(panShot(shot, right, down)),
    setLight(next) {
      if (next === light) return;
      light = next;
      if (light === 'studio') flat.drop();
      restart();
    },
    setRoom(on) {
      if (on === room) return;
      room = on;
      restart();
    },
    mark: parts.mark,
    setMarkColours(colours) {
      marks.setColours(colours);
      repaint();
    },
    setLasso(on) {
      lassoing = on;
    },
    pickAt: parts.pickAt,
    whenPickable: parts.whenPickable,
    resize,
    dispose() {
      loads++;
      cancelAnimationFrame(frame);
      clearTimeout(rest);
      clearTimeout(finish);
      stopGestures();
      canvas.removeEventListener('webglcontextlost', onLost);
      dropParts();
      if (product) disposeProduct(product);
      product = undefined;
      for (const each of [decoders, presenter, marks, ...sums.slice(1), studio]) each.dispose();
    },
  };
}
