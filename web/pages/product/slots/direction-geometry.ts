import { projectGrain } from '../../../../server/core/product/slot-defaults.ts';
import type { GrainMark, Survey } from '../../../../server/core/product/survey.ts';
import type { Extent } from '../figure/find-extent.ts';

type Box = NonNullable<Survey['box']>;

/** Share of the picture that a product fills in its tighter direction. */
const FILL = 0.85;
/** Length of an arrow as a share of the marked piece. */
const REACH = 0.8;
/** Shortest half arrow, as a share of the piece's longer side. */
const SHORTEST = 0.15;
/** No arrow is drawn where the directions on the piece agree less than this (0–1). */
const LEAST_AGREEMENT = 0.5;

/** A line across the marked piece, in a drawing of side 1; coordinates run from the left and from the top. */
export interface Arrow {
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
}

/** The bounding box of a model in a view: metres to the right and up. */
function projectBox({ min, max }: Box, view: GrainMark['view']): { readonly min: number[]; readonly max: number[] } {
  const across = {
    front: [min[0]!, max[0]!],
    back: [-max[0]!, -min[0]!],
    side: [-max[2]!, -min[2]!],
    top: [min[0]!, max[0]!],
  };
  const up = view === 'top' ? [-max[2]!, -min[2]!] : [min[1]!, max[1]!];
  return { min: [across[view][0]!, up[0]!], max: [across[view][1]!, up[1]!] };
}

/** Where a product would be in a picture that has not arrived: centred and fitted. */
export function fitBox(box: Box, view: GrainMark['view']): Extent {
  const { min, max } = projectBox(box, view);
  const [wide, high] = [max[0]! - min[0]!, max[1]! - min[1]!];
  const scale = FILL / (Math.max(wide, high) || 1);
  const [x, y] = [(wide * scale) / 2, (high * scale) / 2];
  return { left: 0.5 - x, right: 0.5 + x, top: 0.5 - y, bottom: 0.5 + y };
}

/** Maps points of a view to the picture that shows the product at this extent. */
export function makePlacer(box: Box, view: GrainMark['view'], { left, right, top, bottom }: Extent) {
  const { min, max } = projectBox(box, view);
  const [across, up] = [max[0]! - min[0]! || 1, max[1]! - min[1]! || 1];
  return (x: number, y: number): [number, number] => [
    left + ((x - min[0]!) / across) * (right - left),
    bottom - ((y - min[1]!) / up) * (bottom - top),
  ];
}

/** The grain on the marked piece at an angle; null where its UVs run in several directions. */
export function drawArrow(
  mark: GrainMark,
  grainDegrees: number,
  place: (x: number, y: number) => [number, number],
): Arrow | null {
  const shown = projectGrain(mark, grainDegrees);
  if (!shown || shown.agreement < LEAST_AGREEMENT) return null;
  const angle = (shown.degrees * Math.PI) / 180;
  const [x, y] = [Math.cos(angle), Math.sin(angle)];
  const [wide, high] = [mark.max[0] - mark.min[0], mark.max[1] - mark.min[1]];
  // from the middle of the piece to its edge in this direction
  const across = REACH * Math.min(wide / 2 / Math.max(Math.abs(x), 1e-9), high / 2 / Math.max(Math.abs(y), 1e-9));
  // across a thin rod, the arrow would otherwise be too short to see
  const reach = Math.max(across, SHORTEST * Math.max(wide, high));
  const middle = [(mark.min[0] + mark.max[0]) / 2, (mark.min[1] + mark.max[1]) / 2] as const;
  return {
    from: place(middle[0] - x * reach, middle[1] - y * reach),
    to: place(middle[0] + x * reach, middle[1] + y * reach),
  };
}

/** An angle as 0–179.99°: directions 180° apart are the same. */
export function foldDegrees(degrees: number): number {
  return ((degrees % 180) + 180) % 180;
}
