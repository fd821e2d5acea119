import type { Piece } from '../../../../server/core/product/survey.ts';
import { drawBoxes, SIDES } from './draw-boxes.ts';

interface PieceDrawingProps {
  readonly pieces: readonly Piece[];
  readonly ticked: ReadonlySet<string>;
}

const WIDTH = 260;
const HEIGHT = 260;

/** Front and side as outlines of the pieces' boxes; the ticked ones in ink. It shows which piece a row speaks of. */
export function PieceDrawing({ pieces, ticked }: PieceDrawingProps) {
  if (pieces.length === 0) return null;
  const boxes = pieces.map(({ box }) => box);
  const whole = {
    min: [0, 1, 2].map((axis) => boxes.reduce((least, { min }) => Math.min(least, min[axis]!), Infinity)),
    max: [0, 1, 2].map((axis) => boxes.reduce((most, { max }) => Math.max(most, max[axis]!), -Infinity)),
  };
  const marked = pieces.filter(({ piece }) => ticked.has(piece)).map(({ box }) => box);
  return (
    <figure class="piece-drawing">
      {(['front', 'side'] as const).map((side) => (
        <svg
          key={side}
          viewBox={`-1 -1 ${WIDTH + 2} ${HEIGHT + 2}`}
          role="img"
          aria-label={`${side}, ${marked.length} ticked`}
        >
          <path class="thin" d={drawBoxes(boxes, whole, SIDES[side], WIDTH, HEIGHT)} />
          <path class="marked" d={drawBoxes(marked, whole, SIDES[side], WIDTH, HEIGHT)} />
        </svg>
      ))}
      <figcaption class="soft">Front and side: the box around every piece, those that are ticked in ink.</figcaption>
    </figure>
  );
}
