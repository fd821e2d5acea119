import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import * as commands from './grid-commands.ts';
import type { GridModel, SidePanel } from './grid-model.ts';
import { writeScheduleCsv } from './schedule-csv.ts';

/** The id of the field to find with. */
export const FIND = 'schedule-find';

/** Values of a filter that are named. */
const NAMED = 3;

/** What can be done with the schedule as a whole: find, filter, add rows, files. */
export function GridTools({ grid, code }: { readonly grid: GridModel; readonly code: string }) {
  const open = (kind: Exclude<SidePanel['kind'], 'finish' | 'column'>) => () => {
    grid.panel.value = grid.panel.value?.kind === kind ? null : { kind };
  };
  const button = (kind: Exclude<SidePanel['kind'], 'finish' | 'column'>, label: string) => (
    <button type="button" aria-expanded={grid.panel.value?.kind === kind} onClick={open(kind)}>
      {label}
    </button>
  );
  return (
    <div class="grid-tools no-print">
      <Find grid={grid} />
      <div class="actions">
        <button
          type="button"
          onClick={() => {
            commands.add(grid);
            grid.focus();
          }}
        >
          {texts.addRow}
        </button>
        {button('expand', texts.expand)}
        {button('check-set', texts.addCheckSet)}
        {button('replace', texts.replace)}
        {button('template', texts.template)}
        {button('import', texts.importCsv)}
        <button type="button" onClick={() => download(grid, code)}>
          {texts.exportCsv}
        </button>
      </div>
      <ActiveFilters grid={grid} />
    </div>
  );
}

function Find({ grid }: { readonly grid: GridModel }) {
  const hits = grid.find.value === '' ? [] : grid.hits.value;
  const { cursor } = grid.selection.value;
  const at = hits.findIndex(({ row, column }) => row === cursor.row && column === cursor.column) + 1;
  return (
    <div class="grid-find">
      <label class="field inline">
        <span>{texts.find}</span>
        <input
          type="search"
          id={FIND}
          autocomplete="off"
          spellcheck={false}
          value={grid.find.value}
          onInput={(event) => {
            grid.find.value = event.currentTarget.value;
          }}
          onKeyDown={(event) => {
            if (event.isComposing) return;
            if (event.key === 'Enter' || event.key === 'F3') commands.goToHit(grid, event.shiftKey);
            else if (event.key === 'Escape') {
              grid.find.value = '';
              grid.focus();
            } else return;
            event.preventDefault();
          }}
        />
      </label>
      <span role="status" class="small">
        {grid.find.value !== '' && texts.hits(at, hits.length)}
      </span>
      {hits.length > 0 && (
        <>
          <button type="button" onClick={() => commands.goToHit(grid, true)}>
            {texts.previousHit}
          </button>
          <button type="button" onClick={() => commands.goToHit(grid)}>
            {texts.nextHit}
          </button>
        </>
      )}
    </div>
  );
}

/** “Seat: Grey linen, 40”: one button for each column that is filtered. */
function ActiveFilters({ grid }: { readonly grid: GridModel }) {
  const filters = grid.filters.value;
  if (filters.size === 0) return null;
  const shown = grid.shown.value.length;
  return (
    <div class="actions">
      {grid.columns.value.flatMap((column) => {
        const values = filters.get(column.id);
        if (!values) return [];
        const named = [...values].map((value) => (value === '' ? texts.emptyValue : grid.labelOf(column, value)));
        const words = named.length > NAMED ? [...named.slice(0, NAMED), '…'] : named;
        return [
          <button
            type="button"
            class="strong"
            key={column.id}
            onClick={() => {
              grid.panel.value = { kind: 'column', column: column.id };
            }}
          >
            {texts.filterBy(column.label, words, shown)}
          </button>,
        ];
      })}
      <button type="button" onClick={() => grid.arrange(new Map(), grid.order.value)}>
        {texts.showAll}
      </button>
    </div>
  );
}

function download(grid: GridModel, code: string): void {
  const text = writeScheduleCsv(grid.schedule.draft.value.rows, grid.slots.value);
  const address = URL.createObjectURL(new Blob([text], { type: 'text/csv;charset=utf-8' }));
  const link = document.createElement('a');
  link.href = address;
  link.download = `${code}-schedule.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
