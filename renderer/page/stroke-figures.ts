/** A line through these points, x to the right and y downwards, in heights of a figure. */
export type Stroke = readonly (readonly [number, number])[];

export interface Figure {
  /** Width with the room before the next one, in heights of a figure. */
  readonly advance: number;
  readonly strokes: readonly Stroke[];
}

/** Room between figures, in heights of a figure; it does not follow the last one. */
const SPACE = 0.24;

/**
 * Figures as lines with round ends, so that a ruler looks the same on every machine, whatever fonts it has. Figures are
 * one high and 0.6 wide; the m has the height of small letters.
 */
const FIGURES: Readonly<Record<string, Figure>> = {
  '0': figure([[...arc(0.3, 0.3, 0.3, 0.3, 180, 360), ...arc(0.3, 0.7, 0.3, 0.3, 0, 180), [0, 0.3]]]),
  '1': figure([
    [
      [0.1, 0.22],
      [0.36, 0],
      [0.36, 1],
    ],
  ]),
  '2': figure([[...arc(0.3, 0.29, 0.28, 0.29, 190, 385), [0, 1], [0.6, 1]]]),
  '3': figure([[...arc(0.29, 0.25, 0.25, 0.25, 200, 450), ...arc(0.29, 0.74, 0.29, 0.26, 270, 525)]]),
  '4': figure([
    [
      [0.46, 1],
      [0.46, 0],
      [0, 0.7],
      [0.62, 0.7],
    ],
  ]),
  '5': figure([[[0.54, 0], [0.1, 0], [0.05, 0.45], ...arc(0.28, 0.67, 0.31, 0.33, 230, 515)]]),
  '6': figure([[[0.46, 0], ...arc(0.3, 0.68, 0.3, 0.32, 205, 565)]]),
  '7': figure([
    [
      [0, 0],
      [0.6, 0],
      [0.22, 1],
    ],
  ]),
  '8': figure([arc(0.3, 0.24, 0.25, 0.24, 90, 450), arc(0.3, 0.74, 0.3, 0.26, -90, 270)]),
  '9': figure([[...arc(0.3, 0.32, 0.3, 0.32, 25, 385), [0.14, 1]]]),
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

/** Width of a text of figures, “m” and blanks, in heights of a figure. */
export function measureFigures(text: string): number {
  return [...text].reduce((width, sign) => width + get(sign).advance, 0) - SPACE;
}

/** The strokes of a text whose left top corner is at 0, 0. */
export function listStrokes(text: string): Stroke[] {
  let at = 0;
  return [...text].flatMap((sign) => {
    const { advance, strokes } = get(sign);
    const moved = strokes.map((stroke) => stroke.map(([x, y]) => [x + at, y] as const));
    at += advance;
    return moved;
  });
}

function get(sign: string): Figure {
  const found = FIGURES[sign];
  if (!found) throw new Error(`There is no figure for “${sign}”.`);
  return found;
}

function figure(strokes: readonly Stroke[]): Figure {
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
