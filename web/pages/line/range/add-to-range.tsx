import { useSignal } from '@preact/signals';
import { Field } from '../../../parts/field.tsx';
import { Select } from '../../../parts/select.tsx';
import { addEntries } from '../line-edit.ts';
import type { LineModel } from '../line-model.ts';

/** Takes finishes of the library into the range: one, or all that are not in it. */
export function AddToRange({ model }: { readonly model: LineModel }) {
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
