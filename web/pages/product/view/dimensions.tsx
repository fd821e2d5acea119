import type { Survey } from '../../../../server/core/product/survey.ts';
import { formatLength } from '../../../format.ts';
import { viewTexts as texts } from '../../../texts/product-view.ts';
import { units } from '../../../units.ts';
import { type DimensionLine, type DrawnFrom, type Place, planDimensions, planFloorMark } from './plan-dimensions.ts';

interface DimensionsProps {
  readonly box: NonNullable<Survey['box']>;
  readonly camera: DrawnFrom;
  /** Whether the product stands on a floor or a table. */
  readonly stands: boolean;
}

/** Dimension lines over the product, and a mark on the floor. They follow the camera. */
export function Dimensions({ box, camera, stands }: DimensionsProps) {
  const lines = planDimensions(box, camera);
  const mark = stands ? planFloorMark(box, camera) : null;
  return (
    <svg class="dimensions" viewBox={`0 0 ${camera.width} ${camera.height}`} role="img" aria-label={describe(lines)}>
      {lines.map((line) => (
        <Line key={line.side} line={line} />
      ))}
      {mark && (
        <g class="floor-mark">
          <path d={`${stroke(mark.from, mark.to)}${tick(mark.from)}${tick(mark.to)}`} />
          <text x={(mark.from.x + mark.to.x) / 2} y={(mark.from.y + mark.to.y) / 2 + 16} text-anchor="middle">
            {mark.lengthMm === 1000 ? texts.metre : texts.tenth}
          </text>
        </g>
      )}
    </svg>
  );
}

function describe(lines: readonly DimensionLine[]): string {
  return lines
    .map(({ side, lengthMm }) =>
      texts.dimension(texts.sides[side], formatLength(lengthMm, units.value), units.value === 'inch' ? 'in' : 'mm'),
    )
    .join(', ');
}

function Line({ line: { from, to, leads, figure, lengthMm } }: { readonly line: DimensionLine }) {
  return (
    <g>
      <path class="thin" d={leads.map(([begin, end]) => stroke(begin, end)).join('')} />
      <path d={`${stroke(from, to)}${tick(from)}${tick(to)}`} />
      <text
        x={round(figure.x)}
        y={round(figure.y)}
        text-anchor="middle"
        dominant-baseline="central"
        transform={`rotate(${round(figure.turn)} ${round(figure.x)} ${round(figure.y)})`}
      >
        {formatLength(lengthMm, units.value)}
      </text>
    </g>
  );
}

/** Half a tick of architectural drawings, CSS px. */
const TICK = 4;

const tick = ({ x, y }: Place) => stroke({ x: x - TICK, y: y + TICK }, { x: x + TICK, y: y - TICK });

const stroke = (from: Place, to: Place) => `M${round(from.x)} ${round(from.y)}L${round(to.x)} ${round(to.y)}`;

const round = (value: number) => Math.round(value * 10) / 10;
