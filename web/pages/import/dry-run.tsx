import type { ImportAnswer } from '../../../server/http/contracts/finish-import.ts';
import { count, formatNumber } from '../../format.ts';
import { Notice } from '../../parts/notice.tsx';
import type { ImportModel } from './import-model.ts';
import { LineTable } from './line-table.tsx';
import { LINE_KINDS, type LineKind } from './list-lines.ts';

const KIND_WORDS: Readonly<Record<LineKind, string>> = {
  created: 'New',
  changed: 'Changed',
  unchanged: 'As stored',
  refused: 'Refused',
};
const FORMATS: Readonly<Record<ImportAnswer['format'], string>> = { csv: 'CSV', cgats: 'CGATS.17', cxf: 'CxF3' };

/** The counts, the lines, and the button that imports; after the import, what was done. */
export function DryRun({ model }: { readonly model: ImportModel }) {
  const answer = model.answer.value;
  if (!answer) {
    return model.busy.value ? (
      <p class="soft" role="status">
        Reading {model.file.value?.name} …
      </p>
    ) : null;
  }
  const kinds = LINE_KINDS.filter((kind) => answer[kind].length > 0);
  const lines = model.picked.value;
  const more = lines.length - model.shown.value;
  return (
    <section class="dry-run" aria-busy={model.busy.value}>
      <div class="section-head">
        <h2>{answer.stored ? 'What was imported' : 'What would come of it'}</h2>
        <p role="status">
          {count(model.lines.value.length, 'line')} of {FORMATS[answer.format]}: {sayCounts(answer)}.
        </p>
      </div>
      <ImportStep model={model} answer={answer} />
      {kinds.length > 1 && (
        <fieldset class="kinds no-print">
          <legend class="unseen">Lines to show</legend>
          {(['all', ...kinds] as const).map((kind) => (
            <label class="tick" key={kind}>
              <input type="radio" name="kind" checked={model.kind.value === kind} onChange={() => model.show(kind)} />
              {kind === 'all' ? 'All lines' : `${KIND_WORDS[kind]}, ${formatNumber(answer[kind].length)}`}
            </label>
          ))}
        </fieldset>
      )}
      <LineTable lines={lines.slice(0, model.shown.value)} />
      {more > 0 && (
        <p class="total">
          <span class="soft">{count(more, 'more line')}.</span>
          <button type="button" class="no-print" onClick={model.showMore}>
            Show more
          </button>
        </p>
      )}
    </section>
  );
}

function ImportStep({ model, answer }: { readonly model: ImportModel; readonly answer: ImportAnswer }) {
  const taken = answer.created.length + answer.changed.length;
  const refused = answer.refused.length;
  if (answer.stored) {
    return (
      <Notice
        text={`${count(taken, 'finish', 'finishes')} stored${refused > 0 ? `; ${count(refused, 'line')} left out` : ''}.`}
      >
        <a class="button" href="/finishes">
          To the finishes
        </a>
      </Notice>
    );
  }
  if (taken === 0) {
    return (
      <p class="measure import-step">
        {refused === 0 ? 'All of this is stored already.' : 'Nothing of this can be imported as it stands.'}
      </p>
    );
  }
  return (
    <div class="actions import-step no-print">
      <button
        type="button"
        class="main"
        disabled={model.busy.value || (refused > 0 && !model.partial.value)}
        onClick={() => void model.store()}
      >
        Import {count(taken, 'finish', 'finishes')}
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
          Leave out {refused === 1 ? 'the refused line' : `the ${formatNumber(refused)} refused lines`}; otherwise
          correct the file first
        </label>
      )}
    </div>
  );
}

function sayCounts(answer: ImportAnswer): string {
  const parts: readonly (readonly [number, string])[] = [
    [answer.created.length, 'new'],
    [answer.changed.length, 'changed'],
    [answer.unchanged.length, 'as stored'],
    [answer.refused.length, 'refused'],
  ];
  return parts
    .filter(([n]) => n > 0)
    .map(([n, word]) => `${formatNumber(n)} ${word}`)
    .join(', ');
}
