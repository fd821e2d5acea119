import { batch, computed, effect, type ReadonlySignal, signal } from '@preact/signals';
import { foldCode } from '../../../../../server/core/codes.ts';
import { makeRowTexts } from '../../../../../server/core/schedule/row-template.ts';
import { choiceOf, type RowTemplate } from '../../../../../server/core/schedule/schedule.ts';
import type { VariantStandingsAnswer } from '../../../../../server/http/contracts/approval.ts';
import type { FinishAnswer } from '../../../../../server/http/contracts/finish.ts';
import type { SlotAnswer } from '../../../../../server/http/contracts/product.ts';
import { get } from '../../../../api.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import type { createChoicesModel } from '../choices-model.ts';
import { type Draft, type Row, setChoice } from '../schedule-draft.ts';
import type { ScheduleModel } from '../schedule-model.ts';
import { arrangeRows, type Filters, keepArrangement, type Order } from './arrange-rows.ts';
import { type Cells, countEmpty } from './edit-cells.ts';
import { findCells } from './find-cells.ts';
import { type GridColumn, listColumns, readCell, type SlotColumn } from './grid-columns.ts';
import { at, boxOf, keepInside, moveTo, type Place, type Selection, type Size, START } from './grid-selection.ts';
import { makeFinishReader } from './read-finish.ts';
import { followChoices } from './row-texts.ts';

interface Given {
  readonly path: string;
  readonly schedule: ScheduleModel;
  readonly slots: ReadonlySignal<readonly SlotAnswer[]>;
  readonly finishes: ReadonlySignal<ReadonlyMap<string, FinishAnswer>>;
  readonly choices: ReturnType<typeof createChoicesModel>;
}

/** What is open beside the grid. */
export type SidePanel =
  | { readonly kind: 'finish'; readonly text: string /** Another number each time. */; readonly opened: number }
  | { readonly kind: 'column'; readonly column: string }
  | { readonly kind: 'replace' | 'import' | 'template' | 'expand' | 'check-set' };

/** Narrowest a column can be, in CSS px. */
const NARROWEST_PX = 48;
/** Finishes that the picker offers first. */
const MOST_RECENT = 8;

/** The grid of a schedule: which rows it shows, what is selected in it, and what is open beside it. */
export function createGridModel({ path, schedule, slots, finishes, choices }: Given) {
  const { draft } = schedule;
  const columns = computed(() => listColumns(slots.value));
  const widths = signal<ReadonlyMap<string, number>>(new Map());
  const filters = signal<Filters>(new Map());
  const order = signal<Order | null>(null);
  const arrangement = signal<{ readonly shown: readonly number[]; readonly known: ReadonlySet<number> } | null>(null);
  const selection = signal<Selection>(START);
  /** Rows that fit into the window of the grid. */
  const page = signal(20);
  /** The cell whose text is being typed. */
  const editing = signal<{ readonly key: number; readonly column: string; readonly text: string } | null>(null);
  const panel = signal<SidePanel | null>(null);
  const find = signal('');
  const recent = signal<readonly string[]>([]);
  /** What the last action did, for the line below the grid. */
  const told = signal<string | null>(null);
  /** Grows when the grid should take the focus. */
  const focusAsked = signal(0);
  const standings = signal<ReadonlyMap<string, VariantStandingsAnswer['variants'][number]>>(new Map());

  const getFinish = (code: string | undefined) => (code === undefined ? undefined : finishes.value.get(foldCode(code)));

  const textsOf = computed(() => {
    const { template } = draft.value;
    return textsFor(template);
  });
  const textsFor = (template: RowTemplate | undefined) =>
    makeTexts.value(template?.name ?? null, template?.code ?? null);
  // a new draft has the same template nearly always
  const makeTexts = computed(() => {
    const keys = slots.value.map(({ slot }) => slot);
    // names are remembered by row, so other finishes make them anew
    void finishes.value;
    let last: { name: string | null; code: string | null; texts: ReturnType<typeof makeRowTexts> } | null = null;
    return (name: string | null, code: string | null) => {
      if (!last || last.name !== name || last.code !== code) {
        const template = { ...(name !== null && { name }), ...(code !== null && { code }) };
        last = { name, code, texts: makeRowTexts(template, keys, getFinish) };
      }
      return last.texts;
    };
  });

  const byKey = computed(() => new Map(draft.value.rows.map((row) => [row.key, row])));
  /** The rows in the order shown. */
  const shown = computed((): readonly Row[] => {
    const arranged = arrangement.value;
    if (!arranged) return draft.value.rows;
    const keys = keepArrangement(arranged.shown, arranged.known, draft.value.rows);
    return keys.map((key) => byKey.value.get(key)!);
  });
  const size = computed((): Size => ({ rows: shown.value.length, columns: columns.value.length, page: page.value }));
  const cursorRow = computed(() => shown.value[selection.value.cursor.row] ?? null);
  const cursorColumn = computed(() => columns.value[selection.value.cursor.column] ?? null);

  const misnamed = computed(() => {
    const check = choices.nameCheck.value;
    const known = new WeakMap<Row, string | null>();
    return (row: Row) => {
      let says = known.get(row);
      if (says === undefined) known.set(row, (says = check(row)));
      return says;
    };
  });

  const words = {
    approval: (row: Row) => {
      const state = standings.value.get(foldCode(row.code))?.state ?? 'none';
      const old = schedule.changes.value.rows.get(row.key) === 'new' ? 'none' : state;
      return texts.approvals[old];
    },
    state: (row: Row) => {
      if (schedule.rowProblems.value.has(row.key)) return texts.states.problem;
      const state = texts.states[schedule.changes.value.rows.get(row.key) ?? 'saved'];
      if (!choices.isAllowed(row.choices)) return texts.stateAnd(state, texts.states.notAllowed);
      return misnamed.value(row) === null ? state : texts.stateAnd(state, texts.states.misnamed);
    },
  };
  const read = (row: Row, column: GridColumn) => readCell(row, column, words);
  /** A cell as a person reads it: a finish by its name. */
  const readText = (row: Row, column: GridColumn) => labelOf(column, read(row, column));
  const labelOf = (column: GridColumn, value: string) =>
    column.kind === 'slot' && value !== '' ? (getFinish(value)?.name ?? value) : value;
  const readWhole = (row: Row, column: GridColumn) =>
    column.kind === 'slot' ? texts.finishWords(readText(row, column), read(row, column)) : read(row, column);

  const slotKeys = computed(() => slots.value.map(({ slot }) => slot));
  const empty = computed(() => countEmpty(draft.value.rows, slotKeys.value));
  const misnamedRows = computed(() => draft.value.rows.filter((row) => misnamed.value(row) !== null));
  const notAllowed = computed(() => draft.value.rows.filter((row) => !choices.isAllowed(row.choices)));
  const hits = computed(() => findCells(shown.value, columns.value, find.value, readWhole));

  const readers = computed(() => {
    const all = [...finishes.value.values()];
    const bySlot = new Map(
      slots.value.map(({ slot, allowed }) => [
        slot,
        makeFinishReader(
          all,
          allowed.map(({ finish }) => finish),
        ),
      ]),
    );
    return (slot: string, text: string) => bySlot.get(slot)?.(text) ?? null;
  });

  /** Changes the draft in one step; codes and names follow. @returns the changed draft */
  function edit(label: string, change: (draft: Draft) => Draft): Draft {
    schedule.edit((before) => followChoices(before, change(before), textsOf.value), label);
    told.value = null;
    return draft.value;
  }

  function arrange(nextFilters: Filters, nextOrder: Order | null): void {
    const key = cursorRow.value?.key;
    batch(() => {
      filters.value = nextFilters;
      order.value = nextOrder;
      arrangement.value =
        nextFilters.size === 0 && !nextOrder
          ? null
          : {
              shown: arrangeRows(draft.value.rows, columns.value, nextFilters, nextOrder, read, readText),
              known: new Set(draft.value.rows.map((row) => row.key)),
            };
      const row = shown.value.findIndex((each) => each.key === key);
      selection.value = keepInside(at({ ...selection.value.cursor, row: Math.max(0, row) }), size.value);
    });
  }

  function filter(column: string, values: ReadonlySet<string> | null): void {
    const next = new Map(filters.value);
    if (values === null) next.delete(column);
    else next.set(column, values);
    arrange(next, order.value);
  }

  function select(next: Selection): void {
    batch(() => {
      selection.value = next;
      const row = shown.value[next.cursor.row];
      if (row) schedule.selected.value = row.key;
    });
  }

  const goTo = (place: Place, extend = false) => select(moveTo(selection.value, place, size.value, extend));

  /** The selected cells. */
  function cells(): Cells {
    const { top, bottom, left, right } = boxOf(selection.value);
    return {
      keys: shown.value.slice(Math.max(0, top), bottom + 1).map(({ key }) => key),
      columns: columns.value.slice(left, right + 1),
    };
  }

  /** The slots of the selected cells. */
  const selectedSlots = computed((): readonly SlotColumn[] => {
    const { left, right } = boxOf(selection.value);
    return columns.value.slice(left, right + 1).flatMap((column) => (column.kind === 'slot' ? [column] : []));
  });

  let opened = 0;
  /** Opens the finishes for the selected cells. @param text what is searched at first */
  function openFinishes(text: string): void {
    panel.value = { kind: 'finish', text, opened: opened++ };
  }

  function setWidth(column: GridColumn, px: number): void {
    widths.value = new Map(widths.value).set(column.id, Math.max(NARROWEST_PX, Math.round(px)));
  }

  function remember(finish: string): void {
    recent.value = [finish, ...recent.value.filter((code) => code !== finish)].slice(0, MOST_RECENT);
  }

  async function loadStandings(): Promise<void> {
    try {
      const { variants } = await get<VariantStandingsAnswer>(`${path}/approvals`);
      standings.value = new Map(variants.map((standing) => [foldCode(standing.variant), standing]));
    } catch {
      // the column stays empty; every other call says what is wrong
    }
  }

  // rows that go must not leave the cursor outside
  const stop = effect(() => {
    const { rows } = size.value;
    if (rows > 0 && selection.peek().cursor.row >= rows) selection.value = keepInside(selection.peek(), size.value);
  });

  return {
    schedule,
    choices,
    slots,
    finishes,
    columns,
    widths,
    filters,
    order,
    selection,
    page,
    editing,
    panel,
    find,
    hits,
    recent,
    told,
    standings,
    focusAsked,
    words,
    shown,
    size,
    cursorRow,
    cursorColumn,
    selectedSlots,
    textsOf,
    textsFor,
    misnamed,
    misnamedRows,
    notAllowed,
    empty,
    slotKeys,
    getFinish,
    read,
    readText,
    labelOf,
    readFinish: (slot: string, text: string) => readers.value(slot, text),
    edit,
    arrange,
    filter,
    select,
    goTo,
    cells,
    openFinishes,
    setWidth,
    remember,
    focus: () => {
      focusAsked.value++;
    },
    loadStandings,
    follow: (key: number, slot: string, finish: string) =>
      edit(texts.steps.finish, (now) => setChoice(now, key, slot, finish)),
    choiceAt: (row: Row, slot: string) => choiceOf(row.choices, slot),
    close: stop,
  };
}

export type GridModel = ReturnType<typeof createGridModel>;
