import { useEffect, useMemo } from 'preact/hooks';
import { RANGE_STATUSES } from '../../../../server/core/finish/finish.ts';
import { formatKey } from '../../../format.ts';
import { Chip } from '../../../parts/chip.tsx';
import { EditDate } from '../../../parts/edit-date.tsx';
import { EditText } from '../../../parts/edit-text.tsx';
import { Field } from '../../../parts/field.tsx';
import { Notice } from '../../../parts/notice.tsx';
import { Select } from '../../../parts/select.tsx';
import { changeEntry, type EntryChange, removeEntry } from '../line-edit.ts';
import type { LineModel } from '../line-model.ts';
import { createDiscontinueModel } from './discontinue-model.ts';
import { DiscontinuePart } from './discontinue-part.tsx';
import type { RangeItem } from './group-range.ts';
import { sayUses } from './say-uses.ts';

interface EntryRowProps {
  readonly model: LineModel;
  readonly item: RangeItem;
  readonly span: number;
  readonly onClose: () => void;
}

/** What opens under an article for one of its finishes: how it is sold, where it is used, and how it goes. */
export function EntryRow({ model, item, span, onClose }: EntryRowProps) {
  const { entry, finish, name } = item;
  const leaving = useMemo(
    () => createDiscontinueModel(model.path, entry.finish, model.writes, model.load),
    [model, entry.finish],
  );
  useEffect(() => void leaving.loadUses(), [leaving]);
  const change = (json: EntryChange) => void model.edit((now) => changeEntry(now, entry.finish, json));
  const leaves = entry.status === 'phase-out' || entry.status === 'discontinued';
  const uses = leaving.uses.value;
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
            <Field name="Price grade">
              <EditText label="Price grade" value={entry.grade ?? ''} onCommit={(grade) => change({ grade })} />
            </Field>
            <Field name="Status">
              <Select
                label={`Status of ${name}`}
                value={entry.status}
                options={RANGE_STATUSES.filter(
                  (status) => status !== 'discontinued' || entry.status === 'discontinued',
                ).map((status) => [status, formatKey(status)])}
                onPick={(status) => change({ status })}
              />
            </Field>
            {leaves && (
              <>
                <Field name="Last order">
                  <EditDate value={entry.lastOrder ?? ''} onCommit={(lastOrder) => change({ lastOrder })} />
                </Field>
                <Field name="What takes its place">
                  <Select
                    label={`What takes the place of ${name}`}
                    value={entry.replacedBy ?? ''}
                    options={[
                      ['', 'Nothing yet'],
                      ...model.line
                        .value!.range.filter((other) => other.finish !== entry.finish)
                        .map((other) => [other.finish, `${model.nameOf(other.finish)}, ${other.finish}`] as const),
                    ]}
                    onPick={(replacedBy) => change({ replacedBy })}
                  />
                </Field>
              </>
            )}
          </div>
          <Notice text={model.trouble.value} />
          {uses && (
            <ul class="small soft measure">
              {sayUses(uses, model.line.value!.line).map((sentence) => (
                <li key={sentence}>{sentence}</li>
              ))}
            </ul>
          )}
          <DiscontinuePart model={model} entry={entry} leaving={leaving} />
          <div class="actions">
            <button type="button" onClick={onClose}>
              Close
            </button>
            <button
              type="button"
              aria-label={`Take ${name} out of the range`}
              onClick={() => {
                onClose();
                void model.edit((now) => removeEntry(now, entry.finish));
              }}
            >
              Take it out of the range
            </button>
          </div>
        </div>
      </td>
    </tr>
  );
}
