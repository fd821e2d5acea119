import { formatNumber } from '../../../server/core/texts/format-text.ts';
import type { ImportAnswer } from '../../../server/http/contracts/finish-import.ts';
import { Notice } from '../../parts/form.tsx';
import { commonTexts } from '../../texts/common.ts';
import { importTexts as texts } from '../../texts/import.ts';
import { LINE_KINDS } from './import-lines.ts';
import type { ImportModel } from './import-model.ts';
import { LineTable } from './line-table.tsx';

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
