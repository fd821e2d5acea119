import { Field, Notice } from '../../../parts/form.tsx';
import { piecesTexts as texts } from '../../../texts/product-contents.ts';
import type { ProductModel } from '../product-model.ts';
import { IdenticalPiecesRow } from './identical-pieces-row.tsx';
import { PieceDrawing } from './piece-drawing.tsx';

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
    return pieces.trouble.value ? <Notice text={pieces.trouble.value} /> : <p role="status">{texts.loading}</p>;
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
              <button type="button" disabled={busy} onClick={() => pieces.tick(pieces.pieces.value, false)}>
                {texts.untickAll}
              </button>
            )}
          </div>
          <p class="soft" role="status">
            {busy ? texts.separating : texts.tickedCount(ticked.size)}
          </p>
        </form>
        <Notice text={pieces.trouble.value ?? pieces.message.value} />
      </div>
    </div>
  );
}
