import { useSignal } from '@preact/signals';
import { projectGrain } from '../../../../server/core/product/slot-defaults.ts';
import type { GrainMark, Survey } from '../../../../server/core/product/survey.ts';
import { Picture } from '../../../parts/picture.tsx';
import { productTexts } from '../../../texts/product.ts';
import { type Extent, measureImage } from '../view/elevation.tsx';

const texts = productTexts.direction;

interface DirectionDrawingProps {
  readonly address: string;
  readonly version: number;
  readonly label: string;
  readonly box: NonNullable<Survey['box']>;
  readonly mark: GrainMark;
  readonly grainDegrees: number;
  readonly proposedDegrees: number | null;
}

/** The drawing is 300 units wide, like the dimensioned views. */
const SIDE = 300;
const HEAD = 9;

/** The direction on the part: an arrow with two heads over the view that shows it best, and a dashed one for the proposal. */
export function DirectionDrawing(props: DirectionDrawingProps) {
  const { address, version, label, box, mark, grainDegrees, proposedDegrees } = props;
  const extent = useSignal<Extent | null>(null);
  const place = makePlacer(box, mark.view, extent.value ?? fitBox(box, mark.view));
  const stored = drawArrow(mark, grainDegrees, place);
  const differs = proposedDegrees !== null && foldDegrees(grainDegrees) !== foldDegrees(proposedDegrees);
  const proposed = differs ? drawArrow(mark, proposedDegrees, place) : null;
  const [left, bottom] = place(mark.min[0], mark.min[1]);
  const [right, top] = place(mark.max[0], mark.max[1]);
  return (
    <figure class="direction-drawing">
      <div class="drawing">
        <Picture
          address={address}
          alt={texts.drawingAlt(label, texts.fromView[mark.view])}
          version={version}
          onArrive={(image) => {
            extent.value = measureImage(image);
          }}
        />
        <svg
          viewBox={`0 0 ${SIDE} ${SIDE}`}
          role="img"
          aria-label={texts.drawing(label, texts.fromView[mark.view], grainDegrees, differs ? proposedDegrees : null)}
        >
          <path class="thin" d={`M${left * SIDE} ${top * SIDE}H${right * SIDE}V${bottom * SIDE}H${left * SIDE}Z`} />
          {proposed && <Line arrow={proposed} kind="proposed" />}
          {stored && <Line arrow={stored} kind="stored" />}
        </svg>
      </div>
      <figcaption class="soft">
        {stored
          ? texts.drawingCaption(texts.fromView[mark.view], proposed !== null)
          : texts.mixedDirections(texts.fromView[mark.view])}
      </figcaption>
    </figure>
  );
}

function Line({ arrow, kind }: { readonly arrow: Arrow; readonly kind: 'stored' | 'proposed' }) {
  const [x1, y1] = arrow.from.map((value) => value * SIDE) as [number, number];
  const [x2, y2] = arrow.to.map((value) => value * SIDE) as [number, number];
  const shaft = `M${x1} ${y1}L${x2} ${y2}`;
  const heads = `${head(x2, y2, x1, y1)}${head(x1, y1, x2, y2)}`;
  return (
    <g class={kind}>
      <path class="halo" d={shaft + heads} />
      <path class="shaft" d={shaft} />
      <path d={heads} />
    </g>
  );
}

/** An open arrow head at (x, y), for a line from (fromX, fromY). */
function head(x: number, y: number, fromX: number, fromY: number): string {
  const angle = Math.atan2(fromY - y, fromX - x);
  const tip = (side: number) =>
    `${(x + HEAD * Math.cos(angle + side * 0.4)).toFixed(1)} ${(y + HEAD * Math.sin(angle + side * 0.4)).toFixed(1)}`;
  return `M${tip(1)}L${x.toFixed(1)} ${y.toFixed(1)}L${tip(-1)}`;
}

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
interface Arrow {
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
