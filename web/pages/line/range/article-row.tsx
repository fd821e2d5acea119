import { RANGE_STATUSES } from '../../../../server/core/finish/finish.ts';
import { EditText, Field, Notice, Select } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import { changeEntries, type EntryChange } from '../line-edit.ts';
import type { LineModel } from '../line-model.ts';
import type { RangeRow } from './group-range.ts';

const texts = lineTexts.entry;

interface ArticleRowProps {
  readonly model: LineModel;
  readonly row: RangeRow;
  readonly span: number;
  readonly onClose: () => void;
}

/** Opens under an article: sets the grade and the status of all its finishes, except discontinued ones. */
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
          <p class="strong">{texts.allFinishes(row.title, sold.length)}</p>
          <div class="form">
            <Field name={texts.priceGrade}>
              <EditText
                label={texts.gradeOfAll(row.title)}
                value={grades.length === 1 ? grades[0]! : ''}
                onCommit={(grade) => change({ grade })}
              />
            </Field>
            <Field name={commonTexts.status}>
              <Select
                label={texts.statusOfAll(row.title)}
                value={statuses.length === 1 ? statuses[0]! : ''}
                options={[
                  ...(statuses.length === 1 ? [] : [['', texts.mixed] as const]),
                  ...RANGE_STATUSES.filter((status) => status !== 'discontinued').map(
                    (status) => [status, lineTexts.statuses[status]] as const,
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
              {commonTexts.close}
            </button>
          </div>
        </div>
      </td>
    </tr>
  );
}
