import type { Piece } from '../../../../server/core/product/survey.ts';

type Box = Piece['box'];

/** Which axes of the model are seen, across and up. */
export interface Side {
  readonly across: 0 | 2;
  /** Looked at from the other end of the axis. */
  readonly mirrored: boolean;
}

/** As the dimensioned views have them: the front towards +Z, the side from +X, where the front is on the left. */
export const SIDES = {
  front: { across: 0, mirrored: false },
  side: { across: 2, mirrored: true },
} as const satisfies Record<string, Side>;

/** Boxes as one path of rectangles on a drawing `width` × `height`, the whole fitted in and standing at the foot. */
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
