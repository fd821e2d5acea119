import { projectGrain } from '../../../../server/core/product/grain-direction.ts';
import type { GrainMark, Survey } from '../../../../server/core/product/survey.ts';
import type { Extent } from '../find-extent.ts';

type Box = NonNullable<Survey['box']>;

/** What of the picture a product fills in its tighter direction, as pictures are framed. */
const FILL = 0.85;
/** Share of the marked piece that an arrow runs over. */
const REACH = 0.8;
/** An arrow is half as long as this share of the piece's longer side at least. */
const SHORTEST = 0.15;
/** Where directions on the piece differ more than this, no arrow speaks for them. */
const TELLS = 0.5;

/** A line across the marked piece, on a drawing of side 1, from the left and from the top. */
export interface Arrow {
  readonly from: readonly [number, number];
  readonly to: readonly [number, number];
}

/** The sides of a model as a view has them: metres right and up. */
function seeBox({ min, max }: Box, view: GrainMark['view']): { readonly min: number[]; readonly max: number[] } {
  const across = {
    front: [min[0]!, max[0]!],
    back: [-max[0]!, -min[0]!],
    side: [-max[2]!, -min[2]!],
    top: [min[0]!, max[0]!],
  };
  const up = view === 'top' ? [-max[2]!, -min[2]!] : [min[1]!, max[1]!];
  return { min: [across[view][0]!, up[0]!], max: [across[view][1]!, up[1]!] };
}

/** Where a product stands in a picture that is not there: fitted in, in the middle. */
export function fitBox(box: Box, view: GrainMark['view']): Extent {
  const { min, max } = seeBox(box, view);
  const [wide, high] = [max[0]! - min[0]!, max[1]! - min[1]!];
  const scale = FILL / (Math.max(wide, high) || 1);
  const [x, y] = [(wide * scale) / 2, (high * scale) / 2];
  return { left: 0.5 - x, right: 0.5 + x, top: 0.5 - y, bottom: 0.5 + y };
}

/** Puts places of a view onto the picture that shows the product there. */
export function makePlacer(box: Box, view: GrainMark['view'], { left, right, top, bottom }: Extent) {
  const { min, max } = seeBox(box, view);
  const [across, up] = [max[0]! - min[0]! || 1, max[1]! - min[1]! || 1];
  return (x: number, y: number): [number, number] => [
    left + ((x - min[0]!) / across) * (right - left),
    bottom - ((y - min[1]!) / up) * (bottom - top),
  ];
}

/** The grain on the marked piece at so many degrees; null where it runs this way and that there. */
export function drawArrow(
  mark: GrainMark,
  grainDegrees: number,
  place: (x: number, y: number) => [number, number],
): Arrow | null {
  const shown = projectGrain(mark, grainDegrees);
  if (!shown || shown.agreement < TELLS) return null;
  const angle = (shown.degrees * Math.PI) / 180;
  const [x, y] = [Math.cos(angle), Math.sin(angle)];
  const [wide, high] = [mark.max[0] - mark.min[0], mark.max[1] - mark.min[1]];
  // as far as the piece goes from its middle that way
  const across = REACH * Math.min(wide / 2 / Math.max(Math.abs(x), 1e-9), high / 2 / Math.max(Math.abs(y), 1e-9));
  // a rod seen from across would hardly have a line at all
  const reach = Math.max(across, SHORTEST * Math.max(wide, high));
  const middle = [(mark.min[0] + mark.max[0]) / 2, (mark.min[1] + mark.max[1]) / 2] as const;
  return {
    from: place(middle[0] - x * reach, middle[1] - y * reach),
    to: place(middle[0] + x * reach, middle[1] + y * reach),
  };
}

/** The same direction, which has no head, in 0–179.99 degrees. */
export function foldDegrees(degrees: number): number {
  return ((degrees % 180) + 180) % 180;
}
