import { useSignal } from '@preact/signals';
import { seg } from '../../api.ts';
import { count } from '../../format.ts';
import { Notice } from '../../parts/notice.tsx';
import { SheetLinks } from '../../parts/sheet-links.tsx';
import { CheckSetRow } from './choices/check-set-row.tsx';
import { CombinationsNote } from './choices/combinations-note.tsx';
import { readCount, sayCount } from './choices/say-count.ts';
import { ExpandRow } from './expand-row.tsx';
import type { ProductModel } from './product-model.ts';
import { describeChanges } from './schedule-changes.ts';
import { addRow } from './schedule-edit.ts';
import { ScheduleTable } from './schedule-table.tsx';

/** The finish schedule: one row per variant, one column per slot that changes, edited in place. */
export function ScheduleSection({ model }: { readonly model: ProductModel }) {
  const { schedule } = model;
  /** Which way of adding rows is open. */
  const adding = useSignal<'expand' | 'check-set' | null>(null);
  const counted = model.choices.counted.value;
  const close = () => {
    adding.value = null;
  };
  const changes = schedule.changes.value;
  const rows = schedule.draft.value.rows.length;
  const troubles = schedule.rowTroubles.value.size;
  const busy = schedule.busy.value;
  const product = `/api/products/${seg(model.code)}`;
  return (
    <section>
      <div class="section-head">
        <h2>Schedule</h2>
        <p class="small">
          {rows === 0
            ? 'No variants yet: add one, or expand them from the options.'
            : `${count(rows, 'variant')}. Press a finish to change it, a number to open its row.`}
          {counted && ` Options and rules allow ${sayCount(readCount(counted))}.`}
        </p>
      </div>
      <CombinationsNote counted={counted} />
      {rows > 0 && <ScheduleTable model={model} />}
      <div class="total">
        <div class="actions no-print">
          <button
            type="button"
            onClick={() => {
              schedule.edit(addRow);
              const last = schedule.draft.value.rows.at(-1)!;
              schedule.selected.value = last.key;
              schedule.open.value = { key: last.key, slot: null };
            }}
          >
            Add a row
          </button>
          <button
            type="button"
            aria-expanded={adding.value === 'expand'}
            onClick={() => {
              adding.value = adding.value === 'expand' ? null : 'expand';
            }}
          >
            Expand from the options
          </button>
          <button
            type="button"
            aria-expanded={adding.value === 'check-set'}
            onClick={() => {
              adding.value = adding.value === 'check-set' ? null : 'check-set';
            }}
          >
            Add a check set
          </button>
        </div>
        <div class="actions saving">
          <p role="status">{schedule.said.value ?? (rows > 0 || changes.any ? describeChanges(changes) : '')}</p>
          {changes.any && (
            <>
              <button type="button" disabled={busy} onClick={schedule.discard}>
                Take the edits back
              </button>
              <button
                type="button"
                class="main"
                disabled={busy || troubles > 0 || rows === 0}
                onClick={() => void schedule.save()}
              >
                Save the schedule
              </button>
            </>
          )}
        </div>
      </div>
      {changes.any && rows === 0 && <Notice text="A schedule has at least one variant. Add a row before saving." />}
      <Notice text={schedule.trouble.value}>
        {schedule.stale.value && (
          <>
            <button type="button" onClick={() => void schedule.save(true)}>
              Save mine over the other
            </button>
            <button type="button" onClick={() => void schedule.load()}>
              Reload, losing my edits
            </button>
          </>
        )}
      </Notice>
      {adding.value === 'expand' && <ExpandRow model={model} onClose={close} />}
      {adding.value === 'check-set' && <CheckSetRow model={model} onClose={close} />}
      {schedule.saved.value.rows.length > 0 && (
        <>
          <SheetLinks label="Schedule to print, as it is saved" address={`${product}/schedule.pdf`} />
          <SheetLinks
            label="Compact schedule, up to 32 variants to a page"
            address={`${product}/schedule.pdf`}
            query="form=compact"
          />
          <SheetLinks label="Each finish once, to print" address={`${product}/schedule/check-set.pdf`} />
          <p class="small no-print">
            For a catalogue:{' '}
            <a href={`${product}/catalogue.zip?size=1024`} download={`${model.code}.zip`}>
              schedule, figures of the finishes, swatches and pictures as one zip
            </a>
            , made while it is sent.
          </p>
        </>
      )}
    </section>
  );
}
