import { useSignal } from '@preact/signals';
import type { GrainMark, Survey } from '../../../../server/core/product/survey.ts';
import { Picture } from '../../../parts/picture.tsx';
import { productTexts } from '../../../texts/product.ts';
import { type Extent, measureImage } from '../figure/find-extent.ts';
import { type Arrow, drawArrow, fitBox, foldDegrees, makePlacer } from './direction-geometry.ts';

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
