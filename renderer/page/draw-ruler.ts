import type { PanelLayout } from '../../server/core/picture/panel.ts';
import { listStrokes, measureFigures } from './stroke-figures.ts';

/** Levels of the strip and of what is printed on it: warm white card, dark grey ink. */
const CARD = 250;
const INK = 45;

/** Ticks of a ruler, mm: short ones at every `minor`, longer at `middle`, longest at `major`, figures at `label`. */
export interface RulerSteps {
  readonly minor: number;
  readonly middle: number;
  readonly major: number;
  /** 0 where no figures fit. */
  readonly label: number;
}

const TICKS: readonly (readonly [number, number, number])[] = [
  [1, 5, 10],
  [5, 10, 50],
  [10, 50, 100],
  [50, 100, 500],
  [100, 500, 1000],
  [500, 1000, 1000],
];
const LABELS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000] as const;

/** Ticks closer than this, or than three of their own widths, run into one another. */
const TICK_ROOM_PX = 4;
const TICK_ROOM_WIDTHS = 3;

/** Figures below this height cannot be read. */
const FIGURE_PX = 6;

const LENGTHS = { minor: 0.24, middle: 0.34, major: 0.42 } as const;
const UNIT = ' mm';

/** Chooses the ticks that fit: as fine as can be told apart. */
export function chooseSteps(layout: PanelLayout): RulerSteps {
  const { pxPerMm, widthMm, rulerPx } = layout;
  const tickRoom = Math.max(TICK_ROOM_PX, TICK_ROOM_WIDTHS * getThickness(layout));
  const [minor, middle, major] = TICKS.find(([step]) => step * pxPerMm >= tickRoom && step < widthMm) ?? TICKS.at(-1)!;
  const figurePx = getFigurePx(rulerPx);
  const first = measureFigures(`0${UNIT}`);
  const widest = measureFigures(String(Math.floor(widthMm)));
  // half a figure stands left of its tick, and the first has the unit behind it
  const room = Math.max(widest + 0.9, first + widest / 2 + 0.6) * figurePx;
  const label = figurePx < FIGURE_PX ? 0 : (LABELS.find((step) => step % minor === 0 && step * pxPerMm >= room) ?? 0);
  return { minor, middle, major, label: label <= widthMm ? label : 0 };
}

/** The left edge of the tick at `mm`, in whole pixels of the picture; 0 is the piece's left edge. */
export function placeTick(layout: PanelLayout, mm: number): number {
  const thick = getThickness(layout);
  const at = Math.round(layout.left + mm * layout.pxPerMm - thick / 2);
  return Math.min(Math.max(at, layout.left), layout.left + layout.widthPx - thick);
}

/** Width of a tick in whole pixels. */
export function getThickness({ sizePx }: PanelLayout): number {
  return Math.max(1, Math.round(sizePx / 640));
}

/** Prints a mm ruler on the strip below the piece. `rgba`: 8-bit straight alpha, rows from the top; changed in place. */
export function drawRuler(rgba: Uint8Array, layout: PanelLayout): void {
  const { sizePx, left, widthPx, widthMm, rulerPx, pxPerMm } = layout;
  const top = layout.top + layout.heightPx;
  const fill = (x: number, y: number, width: number, height: number, level: number) => {
    for (let row = y; row < y + height; row++) {
      for (let column = x; column < x + width; column++) put(rgba, (row * sizePx + column) * 4, level);
    }
  };
  fill(left, top, widthPx, rulerPx, CARD);
  const steps = chooseSteps(layout);
  const thick = getThickness(layout);
  for (let mm = 0; mm <= widthMm + 1e-9; mm += steps.minor) {
    const kind = mm % steps.major === 0 ? 'major' : mm % steps.middle === 0 ? 'middle' : 'minor';
    fill(placeTick(layout, mm), top, thick, Math.max(2, Math.round(rulerPx * LENGTHS[kind])), INK);
  }
  if (steps.label === 0) return;
  const figurePx = getFigurePx(rulerPx);
  const baseline = top + Math.round(rulerPx * 0.53);
  for (let mm = 0; mm <= widthMm + 1e-9; mm += steps.label) {
    const text = String(mm);
    const wide = measureFigures(text) * figurePx;
    const [from, to] = [left + figurePx * 0.3, left + widthPx - figurePx * 0.3 - wide];
    const x = Math.min(Math.max(left + mm * pxPerMm - wide / 2, from), to);
    print(rgba, sizePx, mm === 0 ? text + UNIT : text, x, baseline, figurePx);
  }
}

function getFigurePx(rulerPx: number): number {
  return Math.round(rulerPx * 0.33);
}

/** Draws a text, each pixel by its distance to the nearest stroke. */
function print(rgba: Uint8Array, sizePx: number, text: string, left: number, top: number, figurePx: number): void {
  const strokes = listStrokes(text).map((stroke) =>
    stroke.map(([x, y]) => [left + x * figurePx, top + y * figurePx] as const),
  );
  const half = Math.max(0.55, figurePx * 0.055);
  const right = left + measureFigures(text) * figurePx;
  for (let row = Math.floor(top - half - 1); row <= top + figurePx + half + 1; row++) {
    for (let column = Math.floor(left - half - 1); column <= right + half + 1; column++) {
      let nearest = Infinity;
      for (const stroke of strokes) {
        for (let at = 1; at < stroke.length; at++) {
          nearest = Math.min(nearest, getDistance(column + 0.5, row + 0.5, stroke[at - 1]!, stroke[at]!));
        }
      }
      const covered = Math.min(Math.max(half + 0.5 - nearest, 0), 1);
      if (covered > 0) put(rgba, (row * sizePx + column) * 4, Math.round(CARD + (INK - CARD) * covered));
    }
  }
}

type Point = readonly [number, number];

function getDistance(x: number, y: number, [fromX, fromY]: Point, [toX, toY]: Point): number {
  const [alongX, alongY] = [toX - fromX, toY - fromY];
  const length = alongX * alongX + alongY * alongY;
  const share = length === 0 ? 0 : ((x - fromX) * alongX + (y - fromY) * alongY) / length;
  const within = Math.min(Math.max(share, 0), 1);
  return Math.hypot(x - fromX - alongX * within, y - fromY - alongY * within);
}

function put(rgba: Uint8Array, at: number, level: number): void {
  rgba.fill(level, at, at + 3);
  rgba[at + 3] = 255;
}
