import { useEffect, useMemo } from 'preact/hooks';
import { RANGE_STATUSES } from '../../../../server/core/finish/finish.ts';
import { seg } from '../../../api.ts';
import { Approvals } from '../../../parts/approvals.tsx';
import { EditDate, EditText, Field, Notice, Select } from '../../../parts/form.tsx';
import { Chip } from '../../../parts/picture.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import { changeEntries, changeEntry, type EntryChange, removeEntry } from '../line-changes.ts';
import type { LineModel } from '../line-model.ts';
import { describeUses, type RangeItem, type RangeRow } from './describe-range.ts';
import { createDiscontinueModel, DiscontinueFinish } from './discontinue-finish.tsx';

const texts = lineTexts.entry;

interface EntryRowProps {
  readonly model: LineModel;
  readonly item: RangeItem;
  readonly span: number;
  readonly onClose: () => void;
}

/** Opens under an article for one of its finishes: price grade, status, uses and discontinuation. */
export function EntryRow({ model, item, span, onClose }: EntryRowProps) {
  const { entry, finish, name } = item;
  const discontinue = useMemo(
    () => createDiscontinueModel(model.path, entry, model.writes, model.load),
    [model, entry.finish],
  );
  useEffect(() => void discontinue.loadUses(), [discontinue]);
  const change = (json: EntryChange) => void model.edit((now) => changeEntry(now, entry.finish, json));
  const isLeaving = entry.status === 'phase-out' || entry.status === 'discontinued';
  const uses = discontinue.uses.value;
  return (
    <tr class="opened no-print">
      <td colSpan={span}>
        {/* biome-ignore lint/a11y/noStaticElementInteractions: Escape closes the row wherever the focus is in it */}
        <div
          class="range-entry"
          onKeyDown={(event) => {
            if (event.key === 'Escape' && !(event.target as Element).matches('input')) onClose();
          }}
        >
          <p class="strong">
            <Chip hex={finish?.resolved.hex} /> {name} <span class="code soft">{entry.finish}</span>
          </p>
          <div class="form">
            <Field name={texts.priceGrade}>
              <EditText label={texts.priceGrade} value={entry.grade ?? ''} onCommit={(grade) => change({ grade })} />
            </Field>
            <Field name={commonTexts.status}>
              <Select
                label={texts.statusOf(name)}
                value={entry.status}
                options={RANGE_STATUSES.filter(
                  (status) => status !== 'discontinued' || entry.status === 'discontinued',
                ).map((status) => [status, lineTexts.statuses[status]])}
                onPick={(status) => change({ status })}
              />
            </Field>
            {isLeaving && (
              <>
                <Field name={texts.lastOrder}>
                  <EditDate value={entry.lastOrder ?? ''} onCommit={(lastOrder) => change({ lastOrder })} />
                </Field>
                <Field name={texts.replacement}>
                  <Select
                    label={texts.replacementOf(name)}
                    value={entry.replacedBy ?? ''}
                    options={[
                      ['', commonTexts.none],
                      ...model.line
                        .value!.range.filter((other) => other.finish !== entry.finish)
                        .map(
                          (other) =>
                            [other.finish, texts.nameAndCode(model.nameOf(other.finish), other.finish)] as const,
                        ),
                    ]}
                    onPick={(replacedBy) => change({ replacedBy })}
                  />
                </Field>
              </>
            )}
          </div>
          <Notice text={model.problem.value} />
          {uses && (
            <ul class="small soft measure">
              {describeUses(uses, model.line.value!.line).map((sentence) => (
                <li key={sentence}>{sentence}</li>
              ))}
            </ul>
          )}
          {finish && (
            <Approvals
              path={`/api/finishes/${seg(finish.finish)}/approvals`}
              revision={finish.revision}
              onRecord={() => void model.loadStandings().catch(() => undefined)}
            />
          )}
          <DiscontinueFinish model={model} entry={entry} discontinue={discontinue} />
          <div class="actions">
            <button type="button" onClick={onClose}>
              {commonTexts.close}
            </button>
            <button
              type="button"
              aria-label={texts.removeNamed(name)}
              onClick={() => {
                // the focus goes to the next finish, since the button of this one goes
                focusNeighbour(entry.finish);
                model.open.value = null;
                void model.edit((now) => removeEntry(now, entry.finish));
              }}
            >
              {texts.removeFromRange}
            </button>
          </div>
        </div>
      </td>
    </tr>
  );
}

function focusNeighbour(finish: string): void {
  const buttons = [...document.querySelectorAll<HTMLElement>('.range .range-item')];
  const at = buttons.findIndex(({ id }) => id === `entry-${finish}`);
  const next = buttons[at + 1] ?? buttons[at - 1] ?? document.querySelector<HTMLElement>('.adding-to-range select');
  next?.focus();
}

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
          <Notice text={model.problem.value} />
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
