import type { Piece } from '../../../../server/core/product/survey.ts';
import { piecesTexts } from '../../../texts/product-contents.ts';

interface PieceDrawingProps {
  readonly pieces: readonly Piece[];
  readonly ticked: ReadonlySet<string>;
}

const WIDTH = 260;
const HEIGHT = 260;

/** Front and side as outlines of the pieces' bounding boxes, to find the ticked ones. */
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
          aria-label={piecesTexts.drawing(side, marked.length)}
        >
          <path class="thin" d={drawBoxes(boxes, whole, SIDES[side], WIDTH, HEIGHT)} />
          <path class="marked" d={drawBoxes(marked, whole, SIDES[side], WIDTH, HEIGHT)} />
        </svg>
      ))}
      <figcaption class="soft">{piecesTexts.drawingCaption}</figcaption>
    </figure>
  );
}

type Box = Piece['box'];

/** A view of the model: the axis that runs across it. */
export interface Side {
  readonly across: 0 | 2;
  /** Seen from the positive end of the other axis, so that this one runs to the left. */
  readonly mirrored: boolean;
}

/** The same views as the dimensioned drawings: front from +Z; side from +X, with the front on the left. */
export const SIDES = {
  front: { across: 0, mirrored: false },
  side: { across: 2, mirrored: true },
} as const satisfies Record<string, Side>;

/** Boxes as one SVG path of rectangles in a drawing of `width` × `height`. The whole is fitted in, at the bottom. */
export function drawBoxes(
  boxes: readonly Box[],
  whole: Box,
  { across, mirrored }: Side,
  width: number,
  height: number,
): string {
  const wide = whole.max[across]! - whole.min[across]!;
  const high = whole.max[1]! - whole.min[1]!;
  const scale = Math.min(width / (wide || 1), height / (high || 1));
  const left = (width - wide * scale) / 2;
  const x = (value: number) => {
    const from = mirrored ? whole.max[across]! - value : value - whole.min[across]!;
    return left + from * scale;
  };
  const y = (value: number) => height - (value - whole.min[1]!) * scale;
  return boxes
    .map(({ min, max }) => {
      const [a, b] = [x(min[across]!), x(max[across]!)].sort((p, q) => p - q) as [number, number];
      return `M${round(a)} ${round(y(max[1]!))}H${round(b)}V${round(y(min[1]!))}H${round(a)}Z`;
    })
    .join('');
}

const round = (value: number) => Math.round(value * 10) / 10;
