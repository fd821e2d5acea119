import { Chip } from '../../../parts/chip.tsx';
import type { LineModel } from '../line-model.ts';
import { AddToRange } from './add-to-range.tsx';
import { ArticleRow } from './article-row.tsx';
import { EntryRow } from './entry-row.tsx';
import { groupRange, type RangeItem, type RangeRow, sayRange, sayStatus } from './group-range.ts';

/** What the line sells: a row for each article, a column for each price grade, its finishes as chips in the cells. */
export function RangeTable({ model }: { readonly model: LineModel }) {
  const line = model.line.value!;
  const { grades, rows } = groupRange(line.range, model.byCode.value, model.articles.value);
  return (
    <section>
      <div class="section-head">
        <h2>Range</h2>
        <p class="small">
          {line.range.length === 0
            ? 'Empty: products of the line may take any finish.'
            : `${sayRange(line.range)} Press a finish to change how it is sold, or to discontinue it; an article for all of its finishes.`}
        </p>
      </div>
      {line.range.length > 0 && (
        <div class="scroll">
          <table class="range">
            <thead>
              <tr>
                <th scope="col">Article</th>
                {grades.map((grade) => (
                  <th scope="col" key={grade}>
                    {grade === null ? 'No grade' : `Grade ${grade}`}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <Row key={row.key} model={model} row={row} span={1 + grades.length} />
              ))}
            </tbody>
          </table>
        </div>
      )}
      {model.others.value.length > 0 && <AddToRange model={model} />}
    </section>
  );
}

function Row({ model, row, span }: { readonly model: LineModel; readonly row: RangeRow; readonly span: number }) {
  const { open } = model;
  const toggle = (key: string) => {
    open.value = open.value === key ? null : key;
  };
  const close = (id: string) => () => {
    open.value = null;
    document.getElementById(id)?.focus();
  };
  const opened = row.items.find(({ entry }) => open.value === idOf(entry.finish));
  return (
    <>
      <tr>
        <th scope="row">
          <button type="button" id={row.key} aria-expanded={open.value === row.key} onClick={() => toggle(row.key)}>
            {row.title}
          </button>
          <span class="range-note small soft">{row.note}</span>
        </th>
        {row.cells.map((items, at) => (
          <td key={at}>
            <ul class="range-cell">
              {items.map((item) => (
                <li key={item.entry.finish}>
                  <Item item={item} open={open.value === idOf(item.entry.finish)} onToggle={toggle} />
                </li>
              ))}
            </ul>
          </td>
        ))}
      </tr>
      {open.value === row.key && <ArticleRow model={model} row={row} span={span} onClose={close(row.key)} />}
      {opened && (
        <EntryRow
          key={opened.entry.finish}
          model={model}
          item={opened}
          span={span}
          onClose={close(idOf(opened.entry.finish))}
        />
      )}
    </>
  );
}

interface ItemProps {
  readonly item: RangeItem;
  readonly open: boolean;
  readonly onToggle: (key: string) => void;
}

function Item({ item: { entry, finish, name }, open, onToggle }: ItemProps) {
  const status = sayStatus(entry);
  return (
    <button
      type="button"
      class={entry.status === 'discontinued' ? 'range-item gone' : 'range-item'}
      id={idOf(entry.finish)}
      aria-expanded={open}
      onClick={() => onToggle(idOf(entry.finish))}
    >
      <Chip hex={finish?.resolved.hex} />
      <span>
        <span class="item-name">{name}</span>
        <small class="soft">
          <span class="code">{entry.finish}</span>
          {status && `, ${status}`}
        </small>
      </span>
    </button>
  );
}

function idOf(finish: string): string {
  return `entry-${finish}`;
}
