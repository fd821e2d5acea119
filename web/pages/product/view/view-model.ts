import { batch, computed, effect, type ReadonlySignal, signal } from '@preact/signals';
import type { Camera, Hit, LiveView, Selection, ViewLight } from '../../../../renderer/page/live-view.ts';
import { MOST_PANES } from '../../../../renderer/page/view/plan-panes.ts';
import type { Mount, View } from '../../../../server/core/picture/picture.ts';
import { STANDS } from '../../../../server/core/picture/place-camera.ts';
import { type PieceMap, readPieceMap } from '../../../../server/core/product/piece-map.ts';
import type { LivePreviewAnswer } from '../../../../server/http/contracts/model.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { get, getErrorMessage, seg } from '../../../api.ts';
import { viewTexts } from '../../../texts/product-view.ts';
import { createPickModel, type Pointed } from './pick-model.ts';
import { listMissing, planPreview } from './plan-preview.ts';
import { readMarkColours } from './read-mark-colours.ts';

type ViewState = 'waiting' | 'live' | 'still';

type Choices = Readonly<Record<string, string>>;

/** A variant in the view. */
export interface ShownVariant {
  readonly key: number;
  readonly name: string;
  readonly code: string;
  readonly choices: Choices;
}

interface Given {
  readonly product: string;
  readonly slots: ReadonlySignal<readonly SlotAnswer[]>;
  /** The variants that can stand side by side. */
  readonly variants: ReadonlySignal<readonly ShownVariant[]>;
}

const NOTHING: Selection = { pieces: new Set(), parts: [] };

/** Finishes that one file gets beside those of the schedule; the service takes no more. */
const MOST_EXTRA = 200;
/** A person who walks through a list passes finishes faster than files are made. */
const ASK_AFTER_MS = 150;

/** Most variants beside the one that is shown. */
const MOST_OTHERS = MOST_PANES - 1;

/**
 * The view of a product: one canvas that moves between the frames of the page. The newest frame shows it; when that frame goes,
 * the previous one gets it back.
 *
 * A sheet beside it can set `lit` to outline parts, and read `pointed` and `picked`.
 */
export function createViewModel({ product, slots, variants }: Given) {
  const state = signal<ViewState>('waiting');
  /** Why only pictures are shown. */
  const problem = signal<string | null>(null);
  /** Whether a picture of the product is on the canvas. */
  const drawn = signal(false);
  const camera = signal<Camera | null>(null);
  /** The direction of the pictures that stand in for the view. */
  const stillView = signal<View>('three-quarter');
  const light = signal<ViewLight>('studio');
  const dimensions = signal(true);
  /** Keys of the variants beside the shown one. */
  const otherKeys = signal<readonly number[]>([]);
  const choices = signal<Choices>({});
  /** The frame that shows the canvas. */
  const frame = signal<HTMLElement | null>(null);
  const frames: HTMLElement[] = [];
  let canvas: HTMLCanvasElement | null = null;
  let live: LiveView | null = null;
  let opening: Promise<LiveView> | null = null;
  let look: LivePreviewAnswer | null = null;
  /** The first answer, asked for before the product is known. */
  let ahead: Promise<LivePreviewAnswer> | null = null;
  let file = '';
  /** Finishes that the file must have beside those of the schedule, each as `slot:finish`, the newest last. */
  let extra: readonly string[] = [];
  let asking: ReturnType<typeof setTimeout> | undefined;
  let loads = 0;
  let label = '';
  let closed = false;
  const watcher = new ResizeObserver(() => live?.resize());

  const slotOf = (hit: Hit): string | null =>
    look?.slots.find(({ mesh, primitive }) => mesh === hit.mesh && primitive === hit.primitive)?.slot ?? null;
  const picks = createPickModel({ product, slots, slotOf });

  const others = computed(() =>
    otherKeys.value.flatMap((key) => variants.value.find((variant) => variant.key === key) ?? []),
  );
  /** The named view that the camera has, or null. */
  const view = computed((): View | null => {
    if (state.value === 'still') return stillView.value;
    const shot = camera.value?.shot;
    if (shot?.zoom !== 1) return null;
    const names = Object.keys(STANDS) as View[];
    const isAt = (a: number, b: number) => Math.abs(((((a - b) % 360) + 540) % 360) - 180) < 0.5;
    return (
      names.find(
        (name) =>
          isAt(STANDS[name].yawDegrees, shot.yawDegrees) && isAt(STANDS[name].elevationDegrees, shot.elevationDegrees),
      ) ?? null
    );
  });

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

  /** Opens the studio, which takes longer than loading a product, so it is called as early as possible. */
  function open(): Promise<LiveView> {
    opening ??= import('../../../../renderer/page/live-view.ts').then(({ createLiveView }) => {
      if (closed) throw new Error('closed');
      canvas = document.createElement('canvas');
      canvas.tabIndex = 0;
      // keys turn and zoom it, so screen readers pass them on
      canvas.setAttribute('role', 'application');
      canvas.setAttribute('aria-label', viewTexts.canvasLabel(label));
      moveCanvas();
      try {
        live = createLiveView(canvas, {
          onCamera: (next) => {
            camera.value = next;
          },
          onPoint: picks.point,
          onPick: picks.pickHit,
          onLassoLine: (line) => {
            picks.lassoLine.value = line;
          },
          onLasso: picks.pickInside,
          onLeave: picks.leave,
          onLost: () => fallBack(new Error(viewTexts.lost)),
          onDrawn: () => {
            drawn.value = true;
          },
        });
      } catch (error) {
        // replaces the programmer's message of three.js
        throw new Error(viewTexts.noWebGl, { cause: error });
      }
      live.setMarkColours(readMarkColours(light.value));
      live.setRoom(dimensions.value);
      return live;
    });
    opening.catch(() => undefined);
    return opening;
  }

  const ask = () => get<LivePreviewAnswer>(`/api/products/${seg(product)}/look${toQuery(extra)}`);

  /** Opens the studio and asks what it shows, while the page does not know yet whether the product has a model. */
  function prepare(): void {
    if (ahead || loads > 0) return;
    ahead = ask();
    ahead.catch(() => undefined);
    void open().catch(() => undefined);
  }

  /** Starts the view, or updates it after a change of model or options. It reloads the file only if that changed. */
  async function load(): Promise<void> {
    const number = ++loads;
    try {
      const asked = ahead ?? ask();
      ahead = null;
      const [opened, answer] = await Promise.all([open(), asked]);
      // a later call has the newer answer
      if (closed || number !== loads) return;
      look = answer;
      let isNew = false;
      if (file !== answer.file) {
        picks.reset();
        const shown = listShown();
        const panes = shown.map((pane) => planPreview(answer, pane));
        await opened.load(answer.file, { mount: answer.mount as Mount, pieces: getPieces(answer), panes });
        file = answer.file;
        isNew = listShown().every((pane, at) => pane === shown[at]) && listShown().length === shown.length;
        opened.whenPickable().then(
          (known) => picks.setPickable(known),
          () => picks.setPickable(false),
        );
      }
      // a file comes with what was asked for when it was
      if (!isNew) await apply();
      else askForMissing(answer, listShown());
      batch(() => {
        state.value = 'live';
        problem.value = null;
      });
    } catch (error) {
      if (!closed) fallBack(error);
    }
  }

  /** Shows pictures: without WebGL, or where the file cannot be shown. */
  function fallBack(error: unknown): void {
    console.warn(error);
    live?.dispose();
    canvas?.remove();
    live = null;
    canvas = null;
    opening = null;
    file = '';
    batch(() => {
      state.value = 'still';
      drawn.value = false;
      camera.value = null;
      problem.value = viewTexts.failed(getErrorMessage(error).replace(/\.$/, ''));
    });
  }

  const listShown = () => [choices.value, ...others.value.map((variant) => variant.choices)];

  async function apply(): Promise<void> {
    const shown = look;
    if (!shown || !live || file === '') return;
    const panes = listShown();
    askForMissing(shown, panes);
    await live.assign(panes.map((pane) => planPreview(shown, pane)));
  }

  /** With very many options, the file has not all of them: a finish that is tried or chosen comes with the next file. */
  function askForMissing(shown: LivePreviewAnswer, panes: readonly Choices[]): void {
    const known = new Set(extra);
    const missing = listMissing(shown, panes, optionsOf).filter((choice) => !known.has(choice));
    if (missing.length === 0) return;
    clearTimeout(asking);
    asking = setTimeout(() => {
      extra = [...extra, ...missing].slice(-MOST_EXTRA);
      void load();
    }, ASK_AFTER_MS);
  }

  const optionsOf = (slot: string) =>
    slots.value.find((known) => known.slot === slot)?.allowed.map(({ finish }) => finish) ?? [];

  const stopAssigning = effect(() => {
    // read here, so that each of them shows at once
    void [choices.value, others.value];
    apply().catch(fallBack);
  });
  const stopMarking = effect(() => {
    const { lit, picked, pointed } = picks;
    const outlined = [lit.value, toLit(pointed.value)];
    const marked = outlined.map((one) => toSelection(one));
    if (state.value !== 'live') return;
    live?.mark(
      { pieces: new Set(marked.flatMap(({ pieces }) => [...pieces])), parts: marked.flatMap(({ parts }) => parts) },
      { pieces: picked.value, parts: [] },
    );
  });
  // signals are read before the view is there, so that the effects follow them
  const stopRoom = effect(() => {
    const isRoomy = dimensions.value && otherKeys.value.length === 0 && state.value !== 'still';
    live?.setRoom(isRoomy);
  });
  const stopLasso = effect(() => {
    const on = picks.lassoing.value;
    live?.setLasso(on);
  });

  function toLit(pointed: Pointed | null): typeof picks.lit.value | Hit {
    if (!pointed) return null;
    return pointed.hit.piece === null ? pointed.hit : { pieces: [pointed.hit.piece] };
  }

  function toSelection(lit: typeof picks.lit.value | Hit): Selection {
    if (!lit) return NOTHING;
    if ('pieces' in lit) return { pieces: new Set(lit.pieces), parts: [] };
    if ('slot' in lit) return { pieces: new Set(), parts: look?.slots.filter(({ slot }) => slot === lit.slot) ?? [] };
    return { pieces: new Set(), parts: [lit] };
  }

  /** Shows a variant. */
  function show(next: Choices, name: string): void {
    label = name;
    canvas?.setAttribute('aria-label', viewTexts.canvasLabel(name));
    choices.value = next;
  }

  function setView(next: View): void {
    stillView.value = next;
    live?.setView(next);
  }

  function setLight(next: ViewLight): void {
    light.value = next;
    live?.setLight(next);
    live?.setMarkColours(readMarkColours(next));
  }

  /** Puts a variant beside the shown one; of too many, the earliest leaves. */
  function compare(key: number): void {
    if (!otherKeys.value.includes(key)) otherKeys.value = [...otherKeys.value, key].slice(-MOST_OTHERS);
  }

  function close(): void {
    closed = true;
    clearTimeout(asking);
    for (const stop of [stopAssigning, stopMarking, stopRoom, stopLasso]) stop();
    watcher.disconnect();
    picks.close();
    live?.dispose();
    canvas?.remove();
    live = null;
  }

  return {
    ...picks,
    state,
    problem,
    drawn,
    camera,
    view,
    light,
    dimensions,
    frame,
    others,
    showIn,
    prepare,
    load,
    show,
    setView,
    setLight,
    fit: () => live?.fit(),
    zoom: (factor: number) => live?.zoom(factor),
    compare,
    stopComparing: (key?: number) => {
      otherKeys.value = key === undefined ? [] : otherKeys.value.filter((other) => other !== key);
    },
    /** Call when the ground of the view changes. */
    updateColours: () => live?.setMarkColours(readMarkColours(light.value)),
    close,
  };
}

function toQuery(choices: readonly string[]): string {
  return choices.length === 0 ? '' : `?${new URLSearchParams(choices.map((choice) => ['choice', choice]))}`;
}

export type ViewModel = ReturnType<typeof createViewModel>;

/** The pieces of the shown model, or null where they are of another one or cannot be had. */
async function getPieces({ pieces, model }: LivePreviewAnswer): Promise<PieceMap | null> {
  const answer = await fetch(pieces, { credentials: 'same-origin' });
  if (!answer.ok) return null;
  const map = readPieceMap(new Uint8Array(await answer.arrayBuffer()));
  return map.model === model ? map : null;
}
