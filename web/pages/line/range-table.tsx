import { useSignal } from '@preact/signals';
import { RANGE_STATUSES } from '../../../server/core/finish/finish.ts';
import type { RangeEntry } from '../../../server/core/line/line.ts';
import { count, formatKey } from '../../format.ts';
import { Chip } from '../../parts/chip.tsx';
import { EditText } from '../../parts/edit-text.tsx';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import { addEntries, changeEntry, removeEntry } from './line-edit.ts';
import type { LineModel } from './line-model.ts';

/** What the line sells: each finish with its price grade and where it is in its life. */
export function RangeTable({ model }: { readonly model: LineModel }) {
  const line = model.line.value!;
  return (
    <section>
      <div class="section-head">
        <h2>Range</h2>
        <p class="small">
          {line.range.length === 0
            ? 'Empty: products of the line may take any finish.'
            : `${count(line.range.length, 'finish', 'finishes')} the line sells, with price grade and status.`}
        </p>
      </div>
      {line.range.length > 0 && (
        <div class="scroll">
          <table class="range">
            <thead>
              <tr>
                <th scope="col">Finish</th>
                <th scope="col">Code</th>
                <th scope="col">Family</th>
                <th scope="col">Grade</th>
                <th scope="col">Status</th>
                <th scope="col">
                  <span class="unseen">Remove</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {line.range.map((entry) => (
                <RangeRow key={entry.finish} model={model} entry={entry} />
              ))}
            </tbody>
          </table>
        </div>
      )}
      {model.others.value.length > 0 && <AddToRange model={model} />}
    </section>
  );
}

function RangeRow({ model, entry }: { readonly model: LineModel; readonly entry: RangeEntry }) {
  const finish = model.byCode.value.get(entry.finish);
  const name = finish?.name ?? entry.finish;
  return (
    <tr>
      <th scope="row" class={entry.status === 'discontinued' ? 'gone' : undefined}>
        <Chip hex={finish?.resolved.hex} /> <span class="chip-name">{name}</span>
      </th>
      <td class="code">{entry.finish}</td>
      <td>{finish && formatKey(finish.family)}</td>
      <td class="grade">
        <EditText
          label={`Grade of ${name}`}
          value={entry.grade ?? ''}
          size={4}
          onCommit={(grade) => void model.edit((now) => changeEntry(now, entry.finish, { grade }))}
        />
      </td>
      <td class="status">
        <Select
          label={`Status of ${name}`}
          value={entry.status}
          options={RANGE_STATUSES.map((status) => [status, formatKey(status)])}
          onPick={(status) => void model.edit((now) => changeEntry(now, entry.finish, { status }))}
        />
      </td>
      <td class="figure no-print">
        <button
          type="button"
          aria-label={`Take ${name} out of the range`}
          onClick={() => void model.edit((now) => removeEntry(now, entry.finish))}
        >
          Remove
        </button>
      </td>
    </tr>
  );
}

function AddToRange({ model }: { readonly model: LineModel }) {
  const chosen = useSignal('');
  const others = model.others.value;
  const finish = others.some((other) => other.finish === chosen.value) ? chosen.value : others[0]!.finish;
  return (
    <div class="total no-print">
      <Field inline name="Not in the range">
        <Select
          label="Finish to add"
          value={finish}
          options={others.map((other) => [other.finish, `${other.name}, ${other.finish}`])}
          onPick={(code) => {
            chosen.value = code;
          }}
        />
      </Field>
      <button type="button" onClick={() => void model.edit((now) => addEntries(now, [finish]))}>
        Add it
      </button>
      <button
        type="button"
        onClick={() =>
          void model.edit((now) =>
            addEntries(
              now,
              others.map((other) => other.finish),
            ),
          )
        }
      >
        Add all {others.length}
      </button>
    </div>
  );
}
