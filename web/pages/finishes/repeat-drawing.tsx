import { useId } from 'preact/hooks';
import type { Tile } from '../../../server/core/finish/finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';

const texts = finishesTexts.maps;

interface RepeatDrawingProps {
  readonly tile: Tile;
  /** Address of the map to draw; null draws only the outline. */
  readonly image: string | null;
}

/** Largest drawing without its rulers, in its own units: pixels at full width. */
const MOST = { width: 340, height: 300 };
const RULE = 30;
const MARK = { numbered: 8, plain: 4 };
const HEAD = 8;

/** One repeat of the maps in its direction, with rulers in mm; the neighbouring repeats begin around it. */
export function RepeatDrawing({ tile, image }: RepeatDrawingProps) {
  const name = useId();
  const plan = planRepeat(tile, MOST);
  const { width, height, repeat, middle, degrees } = plan;
  // SVG turns clockwise
  const turn = `translate(${middle.x} ${middle.y}) rotate(${-degrees})`;
  const asked = (((tile.grainDegrees ?? 0) % 360) + 360) % 360;
  const size = texts.repeatSize(format(tile.widthMm), format(tile.heightMm));
  return (
    <figure class="repeat">
      <svg
        viewBox={`${-RULE} -8 ${width + RULE + 8} ${height + RULE + 8}`}
        style={{ maxWidth: `${width + RULE + 8}px` }}
        role="img"
        aria-label={texts.repeatLabel(size, format(degrees))}
      >
        {image && (
          <>
            <defs>
              <pattern
                id={name}
                patternUnits="userSpaceOnUse"
                width={repeat.width}
                height={repeat.height}
                patternTransform={`${turn} translate(${-repeat.width / 2} ${-repeat.height / 2})`}
              >
                <image href={image} width={repeat.width} height={repeat.height} preserveAspectRatio="none" />
              </pattern>
            </defs>
            <rect width={width} height={height} fill={`url(#${name})`} opacity="0.45" />
          </>
        )}
        <g transform={turn}>
          {image && (
            <image
              href={image}
              x={-repeat.width / 2}
              y={-repeat.height / 2}
              width={repeat.width}
              height={repeat.height}
              preserveAspectRatio="none"
            />
          )}
          <rect class="edge" x={-repeat.width / 2} y={-repeat.height / 2} width={repeat.width} height={repeat.height} />
          <Direction half={Math.min(repeat.width, repeat.height) * 0.32} />
        </g>
        <g transform={`translate(0 ${height})`}>
          <path d={`M0 0H${width}${drawMarks(plan.across, plan.scale, (at, length) => `M${at} 0V${length}`)}`} />
          {listNumbers(plan.across).map((mm) => (
            <text key={mm} x={mm * plan.scale} y={21} text-anchor="middle">
              {format(mm)}
            </text>
          ))}
        </g>
        <path d={`M0 0V${height}${drawMarks(plan.up, plan.scale, (at, length) => `M0 ${height - at}H${-length}`)}`} />
        {listNumbers(plan.up)
          .slice(1)
          .map((mm) => (
            <text key={mm} x={-11} y={height - mm * plan.scale + 4} text-anchor="end">
              {format(mm)}
            </text>
          ))}
      </svg>
      <figcaption class="soft">
        {texts.repeatCaption(size, format(degrees))} {asked === degrees ? '' : `${texts.quarterTurns(format(asked))} `}
        {texts.repeatKey}
      </figcaption>
    </figure>
  );
}

/** A line along the grain or warp, which runs along the height of the map. Both ends have arrowheads. */
function Direction({ half }: { readonly half: number }) {
  const head = (y: number, back: number) => `M${-HEAD * 0.45} ${y + back}L0 ${y}L${HEAD * 0.45} ${y + back}`;
  const path = `M0 ${-half}V${half}${head(-half, HEAD)}${head(half, -HEAD)}`;
  return (
    <>
      <path class="halo" d={path} />
      <path class="grain" d={path} />
    </>
  );
}

function drawMarks({ marks }: Rule, scale: number, draw: (at: number, length: number) => string): string {
  return marks.map(({ mm, numbered }) => draw(mm * scale, numbered ? MARK.numbered : MARK.plain)).join('');
}

function listNumbers({ marks }: Rule): number[] {
  return marks.filter(({ numbered }) => numbered).map(({ mm }) => mm);
}

function format(value: number): string {
  return String(Number(value.toFixed(1)));
}

/** Marks of a ruler, in mm from its start. */
interface Rule {
  readonly lengthMm: number;
  readonly marks: readonly { readonly mm: number; readonly numbered: boolean }[];
}

/** One repeat in its true proportions. Lengths are in units of the drawing, to the right and down. */
interface RepeatPlan {
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
