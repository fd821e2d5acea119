import type { Tile } from '../../../server/core/finish/finish.ts';

/** Marks of a ruler, in mm from its start. */
export interface Rule {
  readonly lengthMm: number;
  readonly marks: readonly { readonly mm: number; readonly numbered: boolean }[];
}

/** One repeat in its true proportions. Lengths are in units of the drawing, to the right and down. */
export interface RepeatPlan {
  /** Units of the drawing per mm. */
  readonly scale: number;
  /** Size of the drawing: the turned repeat, and a margin for the neighbouring repeats. */
  readonly width: number;
  readonly height: number;
  /** The repeat before it is turned, and its centre. */
  readonly repeat: { readonly width: number; readonly height: number };
  readonly middle: { readonly x: number; readonly y: number };
  /** Rotation, degrees counter-clockwise; only quarter turns for a repeat that is not square. */
  readonly degrees: number;
  /** Rulers along the bottom and the left edge, from the lower left corner. */
  readonly across: Rule;
  readonly up: Rule;
}

/** Margin that shows how repeats meet, as a share of the longer side. */
const MARGIN = 0.12;
/** Smallest distances between numbers, and between marks, in units of the drawing. */
const NUMBERS_APART = 34;
const MARKS_APART = 5;

/** Fits a repeat into a drawing of these sides. */
export function planRepeat(tile: Tile, most: { readonly width: number; readonly height: number }): RepeatPlan {
  const degrees = turnTile(tile);
  const turn = (degrees * Math.PI) / 180;
  const [cos, sin] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
  const margin = MARGIN * Math.max(tile.widthMm, tile.heightMm);
  const acrossMm = tile.widthMm * cos + tile.heightMm * sin + 2 * margin;
  const upMm = tile.widthMm * sin + tile.heightMm * cos + 2 * margin;
  const scale = Math.min(most.width / acrossMm, most.height / upMm);
  const [width, height] = [acrossMm * scale, upMm * scale];
  return {
    scale,
    width,
    height,
    repeat: { width: tile.widthMm * scale, height: tile.heightMm * scale },
    middle: { x: width / 2, y: height / 2 },
    degrees,
    across: planRule(acrossMm, scale),
    up: planRule(upMm, scale),
  };
}

/** Rotation of the maps, the same as in deliveries. */
function turnTile({ widthMm, heightMm, grainDegrees = 0 }: Tile): number {
  const degrees = ((grainDegrees % 360) + 360) % 360;
  return widthMm === heightMm ? degrees : (Math.round(degrees / 90) * 90) % 360;
}

/** Numbers at steps of 1, 2 or 5 times a power of ten, far enough apart to read, with as many marks between as fit. */
export function planRule(lengthMm: number, scale: number): Rule {
  const numbers = stepOf(NUMBERS_APART / scale);
  const marks = [10, 5, 2].map((parts) => numbers / parts).find((step) => step * scale >= MARKS_APART && isNice(step));
  const step = marks ?? numbers;
  const every = Math.round(numbers / step);
  const count = Math.floor(lengthMm / step + 1e-9);
  return {
    lengthMm,
    marks: Array.from({ length: count + 1 }, (_, at) => ({
      mm: Number((at * step).toPrecision(12)),
      numbered: at % every === 0,
    })),
  };
}

/** The smallest of 1, 2 and 5 times a power of ten that is not below `least`. */
function stepOf(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((factor) => factor * power).find((step) => step >= least * (1 - 1e-9))!;
}

function isNice(step: number): boolean {
  const lead = step / 10 ** Math.floor(Math.log10(step) + 1e-9);
  return [1, 2, 5].some((nice) => Math.abs(lead - nice) < 1e-6);
}
