import { count } from '../../../format.ts';
import { Field } from '../../../parts/field.tsx';
import { Notice } from '../../../parts/notice.tsx';
import type { ProductModel } from '../product-model.ts';
import { AlikeRow } from './alike-row.tsx';
import { PieceDrawing } from './piece-drawing.tsx';

/** Rows at once; more is told by figures, and narrowed by the text. */
const ROWS = 200;

/** Choosing pieces by hand, to make a slot of them where the proposals do not have it. */
export function PiecesSection({ model }: { readonly model: ProductModel }) {
  const { pieces } = model;
  const n = model.survey.value?.counts.pieces ?? 0;
  if (n < 2) return null;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Pieces</h2>
        <p class="small">
          The model is {count(n, 'piece')} that touch no other. Any of them can be made a slot of their own.
        </p>
      </div>
      <button type="button" aria-expanded={pieces.open.value} onClick={pieces.toggle}>
        {pieces.open.value ? 'Put the pieces away' : 'Choose pieces'}
      </button>
      {pieces.open.value && <PieceChoice model={model} />}
    </section>
  );
}

function PieceChoice({ model }: { readonly model: ProductModel }) {
  const { pieces, repairs } = model;
  const survey = pieces.survey.value;
  const found = pieces.found.value;
  const ticked = pieces.ticked.value;
  const busy = pieces.busy.value || repairs.work.value !== null;
  if (!survey)
    return pieces.trouble.value ? <Notice text={pieces.trouble.value} /> : <p role="status">Fetching them.</p>;
  return (
    <div class="piece-choice arrives">
      <PieceDrawing pieces={pieces.pieces.value} ticked={ticked} />
      <div>
        <Field name="Only those with these words in the name of part or material, or this colour">
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
                  <span class="unseen">Ticked</span>
                </th>
                <th scope="col">Part</th>
                <th scope="col" class="figure">
                  Pieces
                </th>
                <th scope="col">Colour</th>
                <th scope="col">Material</th>
                <th scope="col" class="figure">
                  Size of one, W × D × H
                </th>
                <th scope="col" class="figure">
                  Area
                </th>
                <th scope="col" class="figure">
                  Triangles
                </th>
              </tr>
            </thead>
            <tbody>
              {found.slice(0, ROWS).map((group) => (
                <AlikeRow
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
          {found.length === 0 && 'No piece has these words.'}
          {found.length > ROWS && `${count(found.length - ROWS, 'shape')} more: narrow them by a word.`}
        </p>
        <form
          class="total"
          onSubmit={(event) => {
            event.preventDefault();
            void pieces.separate();
          }}
        >
          <div class="actions">
            <Field inline name="Name of the slot">
              <input
                type="text"
                value={pieces.name.value}
                onInput={(event) => {
                  pieces.name.value = event.currentTarget.value;
                }}
              />
            </Field>
            <button type="submit" class="main" disabled={busy || ticked.size === 0 || pieces.name.value.trim() === ''}>
              Separate what is ticked
            </button>
            {ticked.size > 0 && (
              <button type="button" disabled={busy} onClick={() => pieces.tick(pieces.pieces.value, false)}>
                Untick all
              </button>
            )}
          </div>
          <p class="soft" role="status">
            {busy ? 'Separating them and measuring what comes of it.' : `${count(ticked.size, 'piece')} ticked.`}
          </p>
        </form>
        <Notice text={pieces.trouble.value ?? pieces.said.value} />
      </div>
    </div>
  );
}
