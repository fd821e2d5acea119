import { Chip } from '../../../parts/picture.tsx';
import { Scroll } from '../../../parts/scroll.tsx';
import { approvalTexts } from '../../../texts/approvals.ts';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineModel, RangeStanding } from '../line-model.ts';
import { AddToRange } from './add-to-range.tsx';
import { describeRange, describeStatus, groupRange, type RangeItem, type RangeRow } from './describe-range.ts';
import { ArticleRow, EntryRow } from './range-rows.tsx';

const texts = lineTexts.range;

/** The range of the line: a row for each article, a column for each price grade, and finishes as chips in the cells. */
export function RangeTable({ model }: { readonly model: LineModel }) {
  const line = model.line.value!;
  const { grades, rows } = groupRange(line.range, model.byCode.value, model.articles.value);
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{line.range.length === 0 ? texts.empty : `${describeRange(line.range)} ${texts.hint}`}</p>
      </div>
      {line.range.length > 0 && (
        <Scroll label={texts.heading}>
          <table class="range">
            <thead>
              <tr>
                <th scope="col">{commonTexts.article}</th>
                {grades.map((grade) => (
                  <th scope="col" key={grade}>
                    {texts.grade(grade)}
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
        </Scroll>
      )}
      {model.finishes.value.length > 0 ? (
        <AddToRange model={model} />
      ) : (
        <p class="total">
          <a class="button" href="/finishes">
            {texts.noFinishes}
          </a>
        </p>
      )}
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
  const opened = row.items.find(({ entry }) => open.value === getElementId(entry.finish));
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
                  <Item
                    item={item}
                    standing={model.standings.value.get(item.entry.finish)}
                    open={open.value === getElementId(item.entry.finish)}
                    onToggle={toggle}
                  />
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
          onClose={close(getElementId(opened.entry.finish))}
        />
      )}
    </>
  );
}

interface ItemProps {
  readonly item: RangeItem;
  readonly standing: RangeStanding | undefined;
  readonly open: boolean;
  readonly onToggle: (key: string) => void;
}

function Item({ item: { entry, finish, name }, standing, open, onToggle }: ItemProps) {
  const status = describeStatus(entry);
  return (
    <button
      type="button"
      class={entry.status === 'discontinued' ? 'range-item gone' : 'range-item'}
      id={getElementId(entry.finish)}
      aria-expanded={open}
      onClick={() => onToggle(getElementId(entry.finish))}
    >
      <Chip hex={finish?.resolved.hex} />
      <span>
        <span class="item-name" dir="auto">
          {name}
        </span>
        <small class="soft">
          <span class="code">{entry.finish}</span>
          {status && `, ${status}`}
          {standing && standing.state !== 'none' && `, ${approvalTexts.marks[standing.state]}`}
        </small>
      </span>
    </button>
  );
}

function getElementId(finish: string): string {
  return `entry-${finish}`;
}
