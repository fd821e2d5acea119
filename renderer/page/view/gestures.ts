import { panShot, type Shot, turnShot, type ViewPlace, zoomShot } from './camera-moves.ts';
import type { PaneGrid } from './plan-panes.ts';

/** What a person does with a view by mouse, touch and keys. Places are shares of a pane. */
export interface GestureTarget {
  getShot(): Shot;
  getGrid(): PaneGrid;
  /** `held`: more moves follow at once. */
  move(shot: Shot, held: boolean): void;
  /** The whole product again. */
  fit(): void;
  /** A pointer rests on a place; null when it leaves the view or begins to turn it. */
  point(at: ViewPlace | null, pointer: { readonly clientX: number; readonly clientY: number }): void;
  /** A click or tap. `adds`: to what is picked already. */
  pick(at: ViewPlace, adds: boolean): void;
  /** Whether drags draw a lasso now. */
  isLassoing(): boolean;
  /** A line drawn with the pointer; `done` with its last place. */
  lasso(line: readonly ViewPlace[], done: boolean, adds: boolean): void;
  /** Escape. */
  leave(): void;
}

/** Degrees of turn per CSS pixel of a drag, and per press of an arrow key. */
const DEGREES_PER_PX = 0.4;
const DEGREES_PER_KEY = 15;
/** Enlargement per press of + or −, and share of the view per press of an arrow key with Shift. */
const ZOOM_PER_KEY = 1.25;
const PAN_PER_KEY = 0.1;
/** Enlargement per CSS pixel of the wheel; a notch of 100 px enlarges by a fifth. */
const ZOOM_PER_PX = 1.0018;
/** A pointer that moves less than this many CSS pixels between press and release clicks. */
const CLICK_PX = 4;

/** CSS px of the window. */
interface ClientPlace {
  readonly clientX: number;
  readonly clientY: number;
}

/** Pixels of a wheel that counts in lines or pages. */
const LINE_PX = 16;
const PAGE_PX = 400;

/**
 * Listens to a view. A wheel scrolls the page until the view has the focus. A finger turns the product sideways and scrolls the
 * page up and down; two fingers move and enlarge the picture. @returns ends it
 */
export function listenToGestures(element: HTMLElement, target: GestureTarget): () => void {
  const ends = new AbortController();
  const { signal } = ends;
  const pressed = new Map<number, { x: number; y: number }>();
  let start: { readonly x: number; readonly y: number; readonly pans: boolean } | null = null;
  /** Whether the pointer has moved since it was pressed. */
  let moved = false;
  let line: ViewPlace[] = [];
  element.style.touchAction = 'pan-y';

  const on = <Name extends keyof HTMLElementEventMap>(
    name: Name,
    act: (event: HTMLElementEventMap[Name]) => void,
    passive?: boolean,
  ) => element.addEventListener(name, act, { signal, ...(passive === false && { passive }) });

  /** A drag keeps to the pane that it began in, also beyond its edges. */
  function toPlace({ clientX, clientY }: ClientPlace, began: ClientPlace | null = null): ViewPlace {
    const { left, top, width, height } = element.getBoundingClientRect();
    const { columns, rows } = target.getGrid();
    const within = (from: number, begun: number, size: number, count: number) =>
      (from / size) * count - Math.min(Math.max(Math.floor((begun / size) * count), 0), count - 1);
    const { clientX: beganX, clientY: beganY } = began ?? { clientX, clientY };
    return {
      x: within(clientX - left, beganX - left, width, columns),
      y: within(clientY - top, beganY - top, height, rows),
    };
  }

  /** Of one pane, CSS px. */
  function getPane(): { readonly width: number; readonly height: number } {
    const { columns, rows } = target.getGrid();
    return { width: element.clientWidth / columns, height: element.clientHeight / rows };
  }

  on('pointerdown', (event) => {
    if (event.button > 2) return;
    pressed.set(event.pointerId, { x: event.clientX, y: event.clientY });
    element.setPointerCapture(event.pointerId);
    // a finger that joins another ends the turn
    start = pressed.size > 1 ? null : { x: event.clientX, y: event.clientY, pans: event.button > 0 };
    moved = pressed.size > 1;
    line = pressed.size === 1 && target.isLassoing() ? [toPlace(event)] : [];
  });

  on('pointermove', (event) => {
    const before = pressed.get(event.pointerId);
    if (!before) return target.point(toPlace(event), event);
    const now = { x: event.clientX, y: event.clientY };
    if (pressed.size === 2) return pinch(event.pointerId, before, now);
    if (start && !moved && Math.hypot(now.x - start.x, now.y - start.y) < CLICK_PX) return;
    if (!moved) target.point(null, event);
    moved = true;
    pressed.set(event.pointerId, now);
    if (line.length > 0) {
      line.push(toPlace(event, toClient(start)));
      return target.lasso(line, false, event.shiftKey);
    }
    const { width, height } = getPane();
    const [right, down] = [now.x - before.x, now.y - before.y];
    const shot = target.getShot();
    const pans = start?.pans || event.shiftKey;
    target.move(
      pans
        ? panShot(shot, right / width, down / height)
        : turnShot(shot, -right * DEGREES_PER_PX, down * DEGREES_PER_PX),
      true,
    );
  });

  function pinch(id: number, before: { x: number; y: number }, now: { x: number; y: number }): void {
    const [, other] = [...pressed].find(([key]) => key !== id)!;
    const spread = (place: { x: number; y: number }) => Math.hypot(place.x - other.x, place.y - other.y);
    pressed.set(id, now);
    const { width, height } = getPane();
    const middle = toPlace({ clientX: (now.x + other.x) / 2, clientY: (now.y + other.y) / 2 });
    const zoomed = zoomShot(target.getShot(), spread(now) / Math.max(spread(before), 1), middle);
    // half, because the middle of the two moves half as far as one of them
    target.move(panShot(zoomed, (now.x - before.x) / 2 / width, (now.y - before.y) / 2 / height), true);
  }

  function release(event: PointerEvent, counts: boolean): void {
    if (!pressed.delete(event.pointerId) || pressed.size > 0) return;
    if (line.length > 0) target.lasso(counts && moved ? line : [], true, event.shiftKey);
    else if (moved) target.move(target.getShot(), false);
    if (!moved && counts && event.button === 0) target.pick(toPlace(event), event.shiftKey);
    line = [];
    start = null;
  }
  on('pointerup', (event) => release(event, true));
  on('pointercancel', (event) => release(event, false));
  on('pointerleave', (event) => target.point(null, event));
  on('contextmenu', (event) => {
    if (moved) event.preventDefault();
  });
  // the browser would scroll or enlarge the page with two fingers
  const claim = (event: TouchEvent) => {
    if (event.touches.length > 1 || (target.isLassoing() && event.touches.length === 1)) event.preventDefault();
  };
  on('touchstart', claim, false);
  on('touchmove', claim, false);

  on(
    'wheel',
    (event) => {
      // a pinch on a touch pad arrives as a wheel with Ctrl
      if (!event.ctrlKey && (element.getRootNode() as Document | ShadowRoot).activeElement !== element) return;
      event.preventDefault();
      const unit = event.deltaMode === 1 ? LINE_PX : event.deltaMode === 2 ? PAGE_PX : 1;
      const px = event.deltaY * unit * (event.ctrlKey ? 4 : 1);
      target.move(zoomShot(target.getShot(), ZOOM_PER_PX ** -px, toPlace(event)), false);
    },
    false,
  );

  on('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'Escape') return target.leave();
    const act = KEYS[event.shiftKey && event.key.startsWith('Arrow') ? `Shift ${event.key}` : event.key.toLowerCase()];
    if (event.key === 'Home' || event.key.toLowerCase() === 'f') target.fit();
    else if (act) target.move(act(target.getShot()), false);
    else return;
    event.preventDefault();
  });

  return () => ends.abort();
}

const toClient = (place: { readonly x: number; readonly y: number } | null) =>
  place && { clientX: place.x, clientY: place.y };

const KEYS: Readonly<Record<string, (shot: Shot) => Shot>> = {
  arrowleft: (shot) => turnShot(shot, DEGREES_PER_KEY, 0),
  arrowright: (shot) => turnShot(shot, -DEGREES_PER_KEY, 0),
  arrowup: (shot) => turnShot(shot, 0, DEGREES_PER_KEY),
  arrowdown: (shot) => turnShot(shot, 0, -DEGREES_PER_KEY),
  'Shift ArrowLeft': (shot) => panShot(shot, PAN_PER_KEY, 0),
  'Shift ArrowRight': (shot) => panShot(shot, -PAN_PER_KEY, 0),
  'Shift ArrowUp': (shot) => panShot(shot, 0, PAN_PER_KEY),
  'Shift ArrowDown': (shot) => panShot(shot, 0, -PAN_PER_KEY),
  '+': (shot) => zoomShot(shot, ZOOM_PER_KEY),
  '=': (shot) => zoomShot(shot, ZOOM_PER_KEY),
  '-': (shot) => zoomShot(shot, 1 / ZOOM_PER_KEY),
  '−': (shot) => zoomShot(shot, 1 / ZOOM_PER_KEY),
};
