import { foldCode } from '../../../../../server/core/codes.ts';
import { commonTexts } from '../../../../texts/common.ts';
import { scheduleTexts as texts } from '../../../../texts/product-schedule.ts';
import * as commands from './grid-commands.ts';
import type { GridModel } from './grid-model.ts';
import { boxOf, HEAD } from './grid-selection.ts';

/** Below the grid: what the last action did, what is selected, and what is to be said about the row of the cursor. */
export function GridNotes({ grid }: { readonly grid: GridModel }) {
  const { selection, shown, schedule } = grid;
  const box = boxOf(selection.value);
  const all = schedule.draft.value.rows.length;
  const rows = box.bottom - box.top + 1;
  const columns = box.right - box.left + 1;
  const empty = grid.empty.value;
  const notAllowed = grid.notAllowed.value.length;
  const misnamed = grid.misnamedRows.value.length;
  const isHead = selection.value.cursor.row === HEAD;
  const doAll = (command: (grid: GridModel) => void) => () => {
    command(grid);
    grid.focus();
  };
  return (
    <div class="grid-notes no-print">
      <p class="small" role="status">
        {grid.told.value}
      </p>
      <div class="actions">
        <span class="small">
          {rows > 1 || columns > 1 ? texts.selectedCells(rows, columns) : texts.shownRows(shown.value.length, all)}
        </span>
        <span class="small">{texts.emptyCells(empty)}</span>
        {empty > 0 && (
          <button type="button" onClick={doAll(commands.goToEmpty)}>
            {texts.nextEmpty}
          </button>
        )}
      </div>
      {!isHead && shown.value.length > 0 && (
        <div class="actions">
          <span class="small soft">{texts.rowsOf}</span>
          <button type="button" onClick={doAll(commands.fill)}>
            {texts.fillDown}
          </button>
          <button type="button" onClick={doAll(commands.duplicate)}>
            {texts.duplicate}
          </button>
          <button type="button" disabled={grid.order.value !== null} onClick={doAll((each) => commands.move(each, -1))}>
            {commonTexts.moveUp}
          </button>
          <button type="button" disabled={grid.order.value !== null} onClick={doAll((each) => commands.move(each, 1))}>
            {commonTexts.moveDown}
          </button>
          <button type="button" onClick={doAll(commands.makeDefault)}>
            {texts.makeDefault}
          </button>
          <button type="button" onClick={doAll(commands.remove)}>
            {texts.remove}
          </button>
        </div>
      )}
      {notAllowed > 0 && (
        <p class="small">
          {texts.notAllowedRows(notAllowed)}{' '}
          <button type="button" onClick={doAll(commands.goToNotAllowed)}>
            {texts.goToNext}
          </button>
        </p>
      )}
      {misnamed > 0 && (
        <p class="small">
          {texts.misnamedRows(misnamed)}{' '}
          <button type="button" onClick={() => commands.fixNames(grid)}>
            {texts.fixNames(misnamed)}
          </button>
        </p>
      )}
      <CursorRow grid={grid} />
      <details class="fold">
        <summary>{texts.keys}</summary>
        <dl class="key-list small">
          {texts.keyList.map(([keys, does]) => (
            <div key={keys}>
              <dt>{keys}</dt>
              <dd>{does}</dd>
            </div>
          ))}
        </dl>
      </details>
    </div>
  );
}

/** Why the row of the cursor cannot be saved, is not allowed or has another name, with the way out where there is one. */
function CursorRow({ grid }: { readonly grid: GridModel }) {
  const row = grid.cursorRow.value;
  if (!row) return null;
  const problem = grid.schedule.rowProblems.value.get(row.key);
  const objections = grid.choices.explainRow(row.choices);
  const says = grid.misnamed.value(row);
  const lapsed = grid.standings.value.get(foldCode(row.code))?.lapsedBecause;
  if (!problem && objections.length === 0 && says === null && lapsed === undefined) return null;
  const label = (slot: string) => grid.slots.value.find((each) => each.slot === slot)?.label ?? slot;
  return (
    <div class="row-notes">
      <p class="strong">{texts.rowHead(grid.selection.value.cursor.row + 1, row.name)}</p>
      {problem && <p role="alert">{problem}</p>}
      {objections.map(({ message, follow }) => (
        <p key={message} class="measure">
          {message}{' '}
          {follow && (
            <button type="button" onClick={() => grid.follow(row.key, follow.slot, follow.finish)}>
              {texts.follow(follow.finish, label(follow.slot))}
            </button>
          )}
        </p>
      ))}
      {says !== null && <p>{texts.misnamed(says)}</p>}
      {lapsed !== undefined && <p>{texts.lapsed(lapsed)}</p>}
    </div>
  );
}
