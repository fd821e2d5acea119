import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { CountAnswer } from '../../../../server/http/contracts/schedule.ts';
import { seg } from '../../../api.ts';
import { readCount } from '../../../format.ts';
import { Notice } from '../../../parts/form.tsx';
import { lazyPage } from '../../../parts/lazy-page.tsx';
import { Picture } from '../../../parts/picture.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { scheduleTexts, scheduleTexts as texts } from '../../../texts/product-schedule.ts';
import type { ProductModel } from '../product-model.ts';
import { GridNotes } from './grid/grid-notes.tsx';
import { GridTools } from './grid/grid-tools.tsx';
import { PrintTable } from './grid/print-table.tsx';
import { ScheduleGrid } from './grid/schedule-grid.tsx';
import { SidePanel } from './grid/side-panel.tsx';
import { describeChanges } from './schedule-draft.ts';

/** Narrower windows have cards instead of the grid. */
const NARROW = '(max-width: 40rem)';

/** What few people need at once comes when they do. */
const VariantCards = lazyPage(() => import('./grid/variant-cards.tsx').then((cards) => cards.VariantCards));
const ConflictPanel = lazyPage(() => import('./conflict-panel.tsx').then((panel) => panel.ConflictPanel));

/** The finish schedule: its variants, and ways to add more. */
export function ScheduleSection({ model }: { readonly model: ProductModel }) {
  const { schedule, grid } = model;
  const isNarrow = useMedia(NARROW);
  useEffect(() => {
    void grid.loadStandings();
  }, [model.version.value]);
  const counted = model.choices.counted.value;
  const changes = schedule.changes.value;
  const rows = schedule.draft.value.rows.length;
  const problems = schedule.rowProblems.value.size;
  const busy = schedule.busy.value;
  return (
    <section class="schedule">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">
          {rows === 0 ? texts.empty : texts.intro(rows)}
          {counted && texts.allowed(commonTexts.combinations(readCount(counted)))}
        </p>
      </div>
      <UnusedFinishes counted={counted} />
      <Notice text={schedule.restored.value} />
      {schedule.conflict.value && <ConflictPanel model={model} />}
      <GridTools grid={grid} code={model.code} />
      <div class="grid-place">
        {rows > 0 && (isNarrow ? <VariantCards model={model} /> : <ScheduleGrid model={model} />)}
        <SidePanel model={model} />
      </div>
      {rows > 0 && grid.shown.value.length === 0 && <p>{texts.notShown}</p>}
      <GridNotes grid={grid} />
      <PrintTable grid={grid} />
      <div class="total">
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
      <Notice text={schedule.problem.value} />
    </section>
  );
}

function useMedia(query: string): boolean {
  const matches = useSignal(window.matchMedia(query).matches);
  useEffect(() => {
    const media = window.matchMedia(query);
    const follow = () => {
      matches.value = media.matches;
    };
    media.addEventListener('change', follow);
    return () => media.removeEventListener('change', follow);
  }, [query]);
  return matches.value;
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
