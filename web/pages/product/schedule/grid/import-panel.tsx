import { useSignal } from '@preact/signals';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { Field } from '../../../../parts/form.tsx';
import { commonTexts } from '../../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import { describeUnread, nameNewRows } from './grid-commands.ts';
import type { GridModel } from './grid-model.ts';
import { Panel } from './panel.tsx';
import { planScheduleImport } from './schedule-csv.ts';

/** Changes that the preview names one by one. */
const NAMED = 12;

/** Reads a CSV file into the draft, after showing what it changes. */
export function ImportPanel({ grid, onClose }: { readonly grid: GridModel; readonly onClose: () => void }) {
  const place = useRef<HTMLInputElement>(null);
  const file = useSignal<{ readonly name: string; readonly text: string } | null>(null);
  const removes = useSignal(false);
  useLayoutEffect(() => place.current?.focus(), []);
  const draft = grid.schedule.draft.value;
  const plan = file.value && planScheduleImport(draft, file.value.text, grid.slots.value, grid.readFinish);
  const takes = plan && (plan.changed.length > 0 || plan.added.length > 0 || (removes.value && plan.absent.length > 0));
  return (
    <Panel title={file.value ? texts.importTitle(file.value.name) : texts.importCsv} onClose={onClose}>
      <p class="small soft">{texts.importHint}</p>
      <Field name={commonTexts.chooseFile}>
        <input
          ref={place}
          type="file"
          accept=".csv,.tsv,.txt,text/csv"
          onChange={async (event) => {
            const field = event.currentTarget;
            const chosen = field.files?.[0];
            if (!chosen) return;
            file.value = { name: chosen.name, text: await chosen.text() };
            // the same file, corrected, can be chosen again
            field.value = '';
          }}
        />
      </Field>
      {plan && !plan.hasCodes && <p role="alert">{texts.noCodes}</p>}
      {plan?.hasCodes && (
        <>
          <p role="status">
            {takes || plan.absent.length > 0
              ? texts.importChanges(plan.changed.length, plan.added.length, plan.absent.length)
              : texts.importNothing}
          </p>
          <ul class="small planned">
            {plan.changed.slice(0, NAMED).map(({ code, column, from, to }) => (
              <li key={`${code} ${column}`}>
                {texts.change(code, column, from || texts.emptyValue, to || texts.emptyValue)}
              </li>
            ))}
            {plan.changed.length > NAMED && <li>{commonTexts.more(plan.changed.length - NAMED)}</li>}
          </ul>
          {plan.unread.length > 0 && <p class="small">{describeUnread(plan.unread)}</p>}
          {plan.repeated.length > 0 && (
            <p class="small">{texts.repeatedCodes(plan.repeated.slice(0, NAMED), plan.repeated.length > NAMED)}</p>
          )}
          {plan.unknown.length > 0 && <p class="small">{texts.unknownColumns(plan.unknown)}</p>}
          {plan.absent.length > 0 && (
            <label class="tick">
              <input
                type="checkbox"
                checked={removes.value}
                onChange={(event) => {
                  removes.value = event.currentTarget.checked;
                }}
              />
              <span>{texts.removeAbsent(plan.absent.length)}</span>
            </label>
          )}
          <button
            type="button"
            class="main"
            disabled={!takes}
            onClick={() => {
              const before = new Set(draft.rows.map(({ key }) => key));
              const next = removes.value ? plan.withoutOthers : plan.draft;
              grid.edit(texts.steps.import, () => nameNewRows(grid, next, before));
              grid.told.value = texts.imported(file.value!.name);
              onClose();
            }}
          >
            {texts.importNow}
          </button>
        </>
      )}
    </Panel>
  );
}
