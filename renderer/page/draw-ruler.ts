import type { PanelLayout } from '../../server/core/picture/swatch.ts';

/** Levels of the strip and of its print: white card, dark grey ink. */
const CARD = 250;
const INK = 45;

/** Ticks of a ruler, mm: short at every `minor`, longer at `middle`, longest at `major`, digits at `label`. */
interface RulerSteps {
  readonly minor: number;
  readonly middle: number;
  readonly major: number;
  /** 0 when no digits fit. */
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

/** Ticks closer than this, or than three of their own widths, merge. */
const TICK_ROOM_PX = 4;
const TICK_ROOM_WIDTHS = 3;

/** Smaller digits cannot be read. */
const DIGIT_PX = 6;

const LENGTHS = { minor: 0.24, middle: 0.34, major: 0.42 } as const;
const UNIT = ' mm';

/** Chooses the finest ticks that can be distinguished. */
export function chooseSteps(layout: PanelLayout): RulerSteps {
  const { pxPerMm, widthMm, rulerPx } = layout;
  const tickRoom = Math.max(TICK_ROOM_PX, TICK_ROOM_WIDTHS * getThickness(layout));
  const [minor, middle, major] = TICKS.find(([step]) => step * pxPerMm >= tickRoom && step < widthMm) ?? TICKS.at(-1)!;
  const digitPx = getDigitPx(rulerPx);
  const first = measureText(`0${UNIT}`);
  const widest = measureText(String(Math.floor(widthMm)));
  // Half a number is to the left of its tick, and the first number is followed by the unit.
  const room = Math.max(widest + 0.9, first + widest / 2 + 0.6) * digitPx;
  const label = digitPx < DIGIT_PX ? 0 : (LABELS.find((step) => step % minor === 0 && step * pxPerMm >= room) ?? 0);
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
  const digitPx = getDigitPx(rulerPx);
  const baseline = top + Math.round(rulerPx * 0.53);
  for (let mm = 0; mm <= widthMm + 1e-9; mm += steps.label) {
    const text = String(mm);
    const wide = measureText(text) * digitPx;
    const [from, to] = [left + digitPx * 0.3, left + widthPx - digitPx * 0.3 - wide];
    const x = Math.min(Math.max(left + mm * pxPerMm - wide / 2, from), to);
    print(rgba, sizePx, mm === 0 ? text + UNIT : text, x, baseline, digitPx);
  }
}

function getDigitPx(rulerPx: number): number {
  return Math.round(rulerPx * 0.33);
}

/** Draws a text, each pixel by its distance to the nearest stroke. */
function print(rgba: Uint8Array, sizePx: number, text: string, left: number, top: number, digitPx: number): void {
  const strokes = listStrokes(text).map((stroke) =>
    stroke.map(([x, y]) => [left + x * digitPx, top + y * digitPx] as const),
  );
  const half = Math.max(0.55, digitPx * 0.055);
  const right = left + measureText(text) * digitPx;
  for (let row = Math.floor(top - half - 1); row <= top + digitPx + half + 1; row++) {
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

/** A line through these points, x to the right and y downwards, in heights of a digit. */
type Stroke = readonly (readonly [number, number])[];

interface Glyph {
  /** Width with the space before the next sign, in heights of a digit. */
  readonly advance: number;
  readonly strokes: readonly Stroke[];
}

/** Space between signs, in heights of a digit; not after the last one. */
const SPACE = 0.24;

/**
 * Digits as lines with round ends, so that a ruler looks the same on every machine, with any fonts. Digits are one high
 * and 0.6 wide; the m has the height of small letters.
 */
const GLYPHS: Readonly<Record<string, Glyph>> = {
  '0': glyph([[...arc(0.3, 0.3, 0.3, 0.3, 180, 360), ...arc(0.3, 0.7, 0.3, 0.3, 0, 180), [0, 0.3]]]),
  '1': glyph([
    [
      [0.1, 0.22],
      [0.36, 0],
      [0.36, 1],
    ],
  ]),
  '2': glyph([[...arc(0.3, 0.29, 0.28, 0.29, 190, 385), [0, 1], [0.6, 1]]]),
  '3': glyph([[...arc(0.29, 0.25, 0.25, 0.25, 200, 450), ...arc(0.29, 0.74, 0.29, 0.26, 270, 525)]]),
  '4': glyph([
    [
      [0.46, 1],
      [0.46, 0],
      [0, 0.7],
      [0.62, 0.7],
    ],
  ]),
  '5': glyph([[[0.54, 0], [0.1, 0], [0.05, 0.45], ...arc(0.28, 0.67, 0.31, 0.33, 230, 515)]]),
  '6': glyph([[[0.46, 0], ...arc(0.3, 0.68, 0.3, 0.32, 205, 565)]]),
  '7': glyph([
    [
      [0, 0],
      [0.6, 0],
      [0.22, 1],
    ],
  ]),
  '8': glyph([arc(0.3, 0.24, 0.25, 0.24, 90, 450), arc(0.3, 0.74, 0.3, 0.26, -90, 270)]),
  '9': glyph([[...arc(0.3, 0.32, 0.3, 0.32, 25, 385), [0.14, 1]]]),
  m: {
    advance: 1.06,
    strokes: [
      [
        [0.02, 0.38],
        [0.02, 1],
      ],
      [[0.02, 0.6], ...arc(0.22, 0.58, 0.2, 0.2, 180, 360), [0.42, 1]],
      [[0.42, 0.6], ...arc(0.62, 0.58, 0.2, 0.2, 180, 360), [0.82, 1]],
    ],
  },
  ' ': { advance: 0.34, strokes: [] },
};

/** Width of a text of digits, “m” and blanks, in heights of a digit. */
function measureText(text: string): number {
  return [...text].reduce((width, sign) => width + get(sign).advance, 0) - SPACE;
}

/** The strokes of a text with its top left corner at 0, 0. */
function listStrokes(text: string): Stroke[] {
  let at = 0;
  return [...text].flatMap((sign) => {
    const { advance, strokes } = get(sign);
    const moved = strokes.map((stroke) => stroke.map(([x, y]) => [x + at, y] as const));
    at += advance;
    return moved;
  });
}

function get(sign: string): Glyph {
  const found = GLYPHS[sign];
  if (!found) throw new Error(`There is no glyph for “${sign}”.`);
  return found;
}

function glyph(strokes: readonly Stroke[]): Glyph {
  return { advance: 0.6 + SPACE, strokes };
}

/** Part of an ellipse in steps of about fifteen degrees; 0° is right, 90° down. */
function arc(x: number, y: number, radiusX: number, radiusY: number, from: number, to: number): Stroke {
  const steps = Math.max(1, Math.round(Math.abs(to - from) / 15));
  return Array.from({ length: steps + 1 }, (_, step) => {
    const angle = ((from + ((to - from) * step) / steps) * Math.PI) / 180;
    return [x + radiusX * Math.cos(angle), y + radiusY * Math.sin(angle)] as const;
  });
}
