import { RANGE_STATUSES } from '../../../../server/core/finish/finish.ts';
import { count, formatKey } from '../../../format.ts';
import { EditText } from '../../../parts/edit-text.tsx';
import { Field } from '../../../parts/field.tsx';
import { Notice } from '../../../parts/notice.tsx';
import { Select } from '../../../parts/select.tsx';
import { changeEntries, type EntryChange } from '../line-edit.ts';
import type { LineModel } from '../line-model.ts';
import type { RangeRow } from './group-range.ts';

interface ArticleRowProps {
  readonly model: LineModel;
  readonly row: RangeRow;
  readonly span: number;
  readonly onClose: () => void;
}

/** What opens under an article: grade and status of all its finishes at once. Those discontinued stay what they are. */
export function ArticleRow({ model, row, span, onClose }: ArticleRowProps) {
  const sold = row.items.map(({ entry }) => entry).filter(({ status }) => status !== 'discontinued');
  const change = (json: EntryChange) =>
    void model.edit((now) =>
      changeEntries(
        now,
        sold.map(({ finish }) => finish),
        json,
      ),
    );
  const grades = [...new Set(sold.map(({ grade }) => grade ?? ''))];
  const statuses = [...new Set(sold.map(({ status }) => status))];
  return (
    <tr class="opened no-print">
      <td colSpan={span}>
        <div class="range-entry">
          <p class="strong">
            {row.title}, {sold.length === 1 ? 'one finish' : `all ${count(sold.length, 'finish', 'finishes')}`}
          </p>
          <div class="form">
            <Field name="Price grade">
              <EditText
                label={`Price grade of all of ${row.title}`}
                value={grades.length === 1 ? grades[0]! : ''}
                onCommit={(grade) => change({ grade })}
              />
            </Field>
            <Field name="Status">
              <Select
                label={`Status of all of ${row.title}`}
                value={statuses.length === 1 ? statuses[0]! : ''}
                options={[
                  ...(statuses.length === 1 ? [] : [['', 'Several'] as const]),
                  ...RANGE_STATUSES.filter((status) => status !== 'discontinued').map(
                    (status) => [status, formatKey(status)] as const,
                  ),
                ]}
                onPick={(status) => {
                  if (status !== '') change({ status });
                }}
              />
            </Field>
          </div>
          <Notice text={model.trouble.value} />
          <div class="actions">
            <button type="button" onClick={onClose}>
              Close
            </button>
          </div>
        </div>
      </td>
    </tr>
  );
}
