import type { Piece } from '../../../../server/core/product/survey.ts';
import { Field, Notice } from '../../../parts/form.tsx';
import { piecesTexts, piecesTexts as texts } from '../../../texts/product-contents.ts';
import type { ProductModel } from '../product-model.ts';
import { IdenticalPiecesRow } from './identical-pieces-row.tsx';

/** Most rows shown at once; the filter narrows longer lists. */
const ROWS = 200;

/** Choosing pieces by hand, to make a slot that the proposed repairs do not have. */
export function PiecesSection({ model }: { readonly model: ProductModel }) {
  const { pieces } = model;
  const n = model.survey.value?.counts.pieces ?? 0;
  if (n < 2) return null;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.intro(n)}</p>
      </div>
      <button type="button" aria-expanded={pieces.open.value} onClick={pieces.toggle}>
        {pieces.open.value ? texts.hide : texts.choose}
      </button>
      {pieces.open.value && <PieceChoice model={model} />}
      {(pieces.open.value || pieces.ticked.value.size > 0) && <SeparateForm model={model} />}
      <Notice text={pieces.problem.value ?? pieces.message.value} />
    </section>
  );
}

/** Names the chosen pieces, which makes them a slot. */
function SeparateForm({ model }: { readonly model: ProductModel }) {
  const { pieces, repairs } = model;
  const ticked = pieces.ticked.value;
  const busy = pieces.busy.value || repairs.work.value !== null;
  return (
    <form
      class="total"
      onSubmit={(event) => {
        event.preventDefault();
        void pieces.separate();
      }}
    >
      <div class="actions">
        <Field inline name={texts.slotName}>
          <input
            type="text"
            value={pieces.name.value}
            onInput={(event) => {
              pieces.name.value = event.currentTarget.value;
            }}
          />
        </Field>
        <button type="submit" class="main" disabled={busy || ticked.size === 0 || pieces.name.value.trim() === ''}>
          {texts.separate}
        </button>
        {ticked.size > 0 && (
          <button type="button" disabled={busy} onClick={pieces.untickAll}>
            {texts.untickAll}
          </button>
        )}
      </div>
      <p class="soft" role="status">
        {busy ? texts.separating : texts.tickedCount(ticked.size)}
      </p>
    </form>
  );
}

function PieceChoice({ model }: { readonly model: ProductModel }) {
  const { pieces, repairs } = model;
  const survey = pieces.survey.value;
  const found = pieces.found.value;
  const ticked = pieces.ticked.value;
  const busy = pieces.busy.value || repairs.work.value !== null;
  if (!survey) return pieces.problem.value ? null : <p role="status">{texts.loading}</p>;
  return (
    <div class="piece-choice arrives">
      <PieceDrawing pieces={pieces.pieces.value} ticked={ticked} />
      <div>
        <Field name={texts.filter}>
          <input
            type="text"
            value={pieces.filter.value}
            spellcheck={false}
            onInput={(event) => {
              pieces.filter.value = event.currentTarget.value;
            }}
          />
        </Field>
        <div class="scroll piece-rows">
          <table class="pieces">
            <thead>
              <tr>
                <th scope="col">
                  <span class="unseen">{texts.columns.ticked}</span>
                </th>
                <th scope="col">{texts.columns.part}</th>
                <th scope="col" class="figure">
                  {texts.columns.pieces}
                </th>
                <th scope="col">{texts.columns.colour}</th>
                <th scope="col">{texts.columns.material}</th>
                <th scope="col" class="figure">
                  {texts.columns.size}
                </th>
                <th scope="col" class="figure">
                  {texts.columns.area}
                </th>
                <th scope="col" class="figure">
                  {texts.columns.triangles}
                </th>
              </tr>
            </thead>
            <tbody>
              {found.slice(0, ROWS).map((group) => (
                <IdenticalPiecesRow
                  key={group.key}
                  group={group}
                  survey={survey}
                  ticked={ticked}
                  disabled={busy}
                  onTick={pieces.tick}
                />
              ))}
            </tbody>
          </table>
        </div>
        <p class="small soft" role="status">
          {found.length === 0 && texts.noMatch}
          {found.length > ROWS && texts.moreShapes(found.length - ROWS)}
        </p>
      </div>
    </div>
  );
}

interface PieceDrawingProps {
  readonly pieces: readonly Piece[];
  readonly ticked: ReadonlySet<string>;
}

const WIDTH = 260;
const HEIGHT = 260;

/** Front and side as outlines of the pieces' bounding boxes, to find the ticked ones. */
function PieceDrawing({ pieces, ticked }: PieceDrawingProps) {
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
interface Side {
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
