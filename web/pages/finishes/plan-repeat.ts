import type { Tile } from '../../../server/core/finish/finish.ts';

/** Marks of a rule, in mm from its start. */
export interface Rule {
  readonly lengthMm: number;
  readonly marks: readonly { readonly mm: number; readonly numbered: boolean }[];
}

/** One repeat as it is laid, drawn at its true proportions: lengths in units of the drawing, right and down. */
export interface RepeatPlan {
  /** Units of the drawing to the mm. */
  readonly scale: number;
  /** What is drawn: the repeat, turned, and a margin in which the next ones begin. */
  readonly width: number;
  readonly height: number;
  /** The repeat before it is turned, and its middle. */
  readonly repeat: { readonly width: number; readonly height: number };
  readonly middle: { readonly x: number; readonly y: number };
  /** How far it is turned, degrees counter-clockwise; a repeat that is not square turns by quarters only. */
  readonly degrees: number;
  /** Along the foot and up the side, from the lower left corner of the drawing. */
  readonly across: Rule;
  readonly up: Rule;
}

/** What goes round the repeat to show how it meets itself, as a share of its longer side. */
const MARGIN = 0.12;
/** Numbers on a rule stand at least so far apart, in units of the drawing, marks so far. */
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

/** How far maps are turned for a tile: as deliveries lay them. */
function turnTile({ widthMm, heightMm, grainDegrees = 0 }: Tile): number {
  const degrees = ((grainDegrees % 360) + 360) % 360;
  return widthMm === heightMm ? degrees : (Math.round(degrees / 90) * 90) % 360;
}

/** Numbers at steps of 1, 2 or 5 times a power of ten, as far apart as they need, and as many marks between as fit. */
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

/** The least of 1, 2 and 5 times a power of ten that is not below. */
function stepOf(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((factor) => factor * power).find((step) => step >= least * (1 - 1e-9))!;
}

function isNice(step: number): boolean {
  const lead = step / 10 ** Math.floor(Math.log10(step) + 1e-9);
  return [1, 2, 5].some((nice) => Math.abs(lead - nice) < 1e-6);
}
