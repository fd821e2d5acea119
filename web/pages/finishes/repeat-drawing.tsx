import { useId } from 'preact/hooks';
import type { Tile } from '../../../server/core/finish/finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { planRepeat, type Rule } from './plan-repeat.ts';

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
