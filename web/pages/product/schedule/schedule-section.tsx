import { useSignal } from '@preact/signals';
import type { CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import { seg } from '../../../api.ts';
import { readCount } from '../../../format.ts';
import { Notice } from '../../../parts/form.tsx';
import { Picture } from '../../../parts/picture.tsx';
import { SheetLinks } from '../../../parts/sheet-links.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts, scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';
import { CheckSetForm, ExpandForm } from './add-variants.tsx';
import { addRow, describeChanges } from './schedule-draft.ts';
import { ScheduleTable } from './schedule-table.tsx';

/** The finish schedule: its variants, ways to add more, and printable sheets. */
export function ScheduleSection({ model }: { readonly model: ProductModel }) {
  const { schedule } = model;
  /** The open form for adding variants. */
  const adding = useSignal<'expand' | 'check-set' | null>(null);
  const counted = model.choices.counted.value;
  const close = () => {
    adding.value = null;
  };
  const changes = schedule.changes.value;
  const rows = schedule.draft.value.rows.length;
  const problems = schedule.rowProblems.value.size;
  const busy = schedule.busy.value;
  const product = `/api/products/${seg(model.code)}`;
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">
          {rows === 0 ? texts.empty : texts.intro(rows)}
          {counted && texts.allowed(commonTexts.combinations(readCount(counted)))}
        </p>
      </div>
      <UnusedFinishes counted={counted} />
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
            {texts.addRow}
          </button>
          <button
            type="button"
            aria-expanded={adding.value === 'expand'}
            onClick={() => {
              adding.value = adding.value === 'expand' ? null : 'expand';
            }}
          >
            {texts.expand}
          </button>
          <button
            type="button"
            aria-expanded={adding.value === 'check-set'}
            onClick={() => {
              adding.value = adding.value === 'check-set' ? null : 'check-set';
            }}
          >
            {texts.addCheckSet}
          </button>
        </div>
        <div class="actions saving">
          <p role="status">{schedule.message.value ?? (rows > 0 || changes.any ? describeChanges(changes) : '')}</p>
          {changes.any && (
            <>
              <button type="button" disabled={busy} onClick={schedule.discard}>
                {commonTexts.discard}
              </button>
              <button
                type="button"
                class="main"
                disabled={busy || problems > 0 || rows === 0}
                onClick={() => void schedule.save()}
              >
                {texts.saveSchedule}
              </button>
            </>
          )}
        </div>
      </div>
      {changes.any && rows === 0 && <Notice text={texts.needsVariant} />}
      <Notice text={schedule.problem.value}>
        {schedule.outdated.value && (
          <>
            <button type="button" onClick={() => void schedule.save(true)}>
              {commonTexts.overwrite}
            </button>
            <button type="button" onClick={() => void schedule.load()}>
              {commonTexts.reload}
            </button>
          </>
        )}
      </Notice>
      {adding.value === 'expand' && <ExpandForm model={model} onClose={close} />}
      {adding.value === 'check-set' && <CheckSetForm model={model} onClose={close} />}
      {schedule.saved.value.rows.length > 0 && (
        <>
          <SheetLinks label={texts.printSchedule} address={`${product}/schedule.pdf`} />
          <SheetLinks label={texts.printCompact} address={`${product}/schedule.pdf`} query="form=compact" />
          <SheetLinks label={texts.printCheckSet} address={`${product}/schedule/check-set.pdf`} />
          <p class="small no-print">
            {texts.catalogue}
            <a href={`${product}/catalogue.zip?size=1024`} download={`${model.code}.zip`}>
              {texts.catalogueLink}
            </a>
            {texts.catalogueNote}
          </p>
        </>
      )}
    </section>
  );
}

/** A note where the rules exclude all combinations, or single finishes on offer. */
function UnusedFinishes({ counted }: { readonly counted: CountAnswer | null }) {
  const effects = counted?.effects;
  if (!effects) return null;
  if (effects.none !== null) return <Notice text={effects.none} />;
  const unused = effects.impossible.length + effects.more;
  if (unused === 0) return null;
  return (
    <details class="fold">
      <summary>{texts.unusedFinishes(unused)}</summary>
      <ul class="reasons">
        {effects.impossible.map(({ slot, label, finish, because }) => (
          <li class="reason" key={`${slot} ${finish}`}>
            <span>
              {label} <span class="code">{finish}</span>
            </span>
            <span class="measure">{because}</span>
          </li>
        ))}
        {effects.more > 0 && <li>{commonTexts.more(effects.more)}</li>}
      </ul>
    </details>
  );
}

/** Pictures shown at first, and with each further step. */
const STEP = 48;

/** Pictures of the saved variants. Clicking one shows it in the preview. */
export function VariantStrip({ model }: { readonly model: ProductModel }) {
  const shown = useSignal(STEP);
  const { schedule } = model;
  const { rows } = schedule.saved.value;
  if (rows.length === 0) return null;
  const selected = schedule.selectedRow.value?.key;
  return (
    <section aria-label={scheduleTexts.variantPictures}>
      <ul class="strip">
        {rows.slice(0, shown.value).map((row) => (
          <li key={row.key}>
            <button
              type="button"
              aria-pressed={row.key === selected}
              onClick={() => {
                schedule.selected.value = row.key;
              }}
            >
              <Picture
                address={`${model.path}/pictures/${seg(row.code)}.webp?size=256`}
                alt=""
                version={model.version.value}
              />
              <span class="small">{row.name}</span>
            </button>
          </li>
        ))}
      </ul>
      {rows.length > shown.value && (
        <button
          type="button"
          class="no-print"
          onClick={() => {
            shown.value += STEP;
          }}
        >
          {commonTexts.showMoreOf(rows.length - shown.value, 'variant')}
        </button>
      )}
    </section>
  );
}
