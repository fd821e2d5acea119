import type { ComponentChildren } from 'preact';
import type { ChangedRow, PlannedRow } from '../../../server/core/import/plan-import.ts';
import { formatNumber } from '../../../server/core/texts/format-text.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-uploads.ts';
import { formatKey, formatLab } from '../../format.ts';
import { Notice } from '../../parts/form.tsx';
import { Chip } from '../../parts/picture.tsx';
import { Scroll } from '../../parts/scroll.tsx';
import { commonTexts } from '../../texts/common.ts';
import { importTexts as texts } from '../../texts/import.ts';
import { describeChange, describeNotes, type ImportLine, type ImportModel, LINE_KINDS } from './import-model.ts';

/** The preview of an import, or its result: counts, the button that imports, and the lines. */
export function ImportPreview({ model }: { readonly model: ImportModel }) {
  const answer = model.answer.value;
  if (!answer) {
    const file = model.file.value;
    return model.busy.value && file ? (
      <p class="soft" role="status">
        {texts.reading(file.name)}
      </p>
    ) : null;
  }
  const kinds = LINE_KINDS.filter((kind) => answer[kind].length > 0);
  const counts = kinds.map((kind) => `${formatNumber(answer[kind].length)} ${texts.kinds[kind].toLowerCase()}`);
  const lines = model.linesOfKind.value;
  const more = lines.length - model.shown.value;
  return (
    <section class="dry-run" aria-busy={model.busy.value}>
      <div class="section-head">
        <h2>{answer.stored ? texts.result : texts.preview}</h2>
        <p role="status">{texts.summary(model.lines.value.length, texts.formats[answer.format], counts)}</p>
      </div>
      <ImportStep model={model} answer={answer} />
      {kinds.length > 1 && (
        <fieldset class="kinds no-print">
          <legend class="unseen">{texts.linesToShow}</legend>
          {(['all', ...kinds] as const).map((kind) => (
            <label class="tick" key={kind}>
              <input
                type="radio"
                name="kind"
                checked={model.kind.value === kind}
                onChange={() => model.showKind(kind)}
              />
              {kind === 'all' ? texts.allLines : texts.kindCount(texts.kinds[kind], answer[kind].length)}
            </label>
          ))}
        </fieldset>
      )}
      <LineTable lines={lines.slice(0, model.shown.value)} />
      {more > 0 && (
        <p class="total">
          <span class="soft">{texts.moreLines(more)}</span>
          <button type="button" class="no-print" onClick={model.showMore}>
            {commonTexts.showMore}
          </button>
        </p>
      )}
    </section>
  );
}

function ImportStep({ model, answer }: { readonly model: ImportModel; readonly answer: ImportAnswer }) {
  const accepted = answer.created.length + answer.changed.length;
  const refused = answer.refused.length;
  if (answer.stored) {
    return (
      <Notice text={texts.imported(accepted, refused)}>
        <a class="button" href="/finishes">
          {texts.showFinishes}
        </a>
      </Notice>
    );
  }
  if (accepted === 0) {
    return <p class="measure import-step">{refused === 0 ? texts.allStored : texts.nothingToImport}</p>;
  }
  return (
    <div class="actions import-step no-print">
      <button
        type="button"
        class="main"
        disabled={model.busy.value || (refused > 0 && !model.partial.value)}
        onClick={() => void model.store()}
      >
        {texts.importFinishes(accepted)}
      </button>
      {refused > 0 && (
        <label class="tick">
          <input
            type="checkbox"
            checked={model.partial.value}
            onChange={(event) => {
              model.partial.value = event.currentTarget.checked;
            }}
          />
          {texts.skipRefused(refused)}
        </label>
      )}
    </div>
  );
}

/** The lines of a file in their order, each with its outcome. */
function LineTable({ lines }: { readonly lines: readonly ImportLine[] }) {
  const { columns } = texts;
  return (
    <Scroll label={texts.preview}>
      <table class="import-lines">
        <thead>
          <tr>
            <th scope="col" class="figure">
              {columns.line}
            </th>
            <th scope="col">{commonTexts.finish}</th>
            <th scope="col">
              {columns.lab}
              <br />
              {columns.labViewing}
            </th>
            <th scope="col">{columns.outcome}</th>
            <th scope="col">{columns.notes}</th>
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => (
            <tr key={`${line.row.line} ${line.row.finish}`} class={line.kind}>
              <td class="figure">{line.row.line}</td>
              {line.kind === 'refused' ? (
                <>
                  <th scope="row" class="finish-cell">
                    <Chip hex={null} />
                    <span class="code">{line.row.finish ?? texts.noCode}</span>
                  </th>
                  <td />
                  <td colSpan={2}>
                    <span class="strong">{texts.kinds.refused}</span>
                    <p class="measure">{line.row.message}</p>
                  </td>
                </>
              ) : (
                <AcceptedCells row={line.row}>
                  <Outcome line={line} />
                </AcceptedCells>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function AcceptedCells({ row, children }: { readonly row: PlannedRow; readonly children: ComponentChildren }) {
  return (
    <>
      <th scope="row" class="finish-cell">
        <Chip hex={row.hex} />
        <span>
          <span class="code">{row.finish}</span> {row.name !== row.finish && row.name}
        </span>
      </th>
      <td class="lab">{formatLab(row.lab)}</td>
      <td>{children}</td>
      <td class="small">
        {describeNotes(row).map((note) => (
          <p key={note}>{note}</p>
        ))}
      </td>
    </>
  );
}

function Outcome({ line }: { readonly line: Exclude<ImportLine, { kind: 'refused' }> }) {
  const { family, article } = line.row;
  if (line.kind === 'created') return <>{texts.newIn(article ?? formatKey(family).toLowerCase())}</>;
  if (line.kind === 'unchanged') return <span class="soft">{texts.kinds.unchanged}</span>;
  return <Changes row={line.row} />;
}

function Changes({ row }: { readonly row: ChangedRow }) {
  return (
    <>
      <span class="strong">{texts.kinds.changed}</span>
      <dl class="changes">
        {row.changes.map((fieldChange) => {
          const { name, change } = describeChange(fieldChange);
          return (
            <div key={name}>
              <dt class="soft">{name}</dt>
              <dd>
                {change}
                {fieldChange.field === 'colour' && (
                  <span class="pair">
                    {' '}
                    <Chip hex={row.before.hex} />
                    <Chip hex={row.hex} /> ΔE00 {row.deltaE.toFixed(1)}
                  </span>
                )}
              </dd>
            </div>
          );
        })}
      </dl>
    </>
  );
}
