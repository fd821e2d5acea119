import { useSignal } from '@preact/signals';
import { toKey } from '../../../server/core/codes.ts';
import { EditText } from '../../parts/edit-text.tsx';
import { Field } from '../../parts/field.tsx';
import { OptionsEditor } from '../../parts/options-editor.tsx';
import { describeOptions } from '../../parts/options-text.ts';
import { addPosition, changePosition, removePosition } from './line-edit.ts';
import type { LineModel } from './line-model.ts';

/** The places that products of the line share, and what each may take. */
export function PositionTable({ model }: { readonly model: LineModel }) {
  const open = useSignal<string | null>(null);
  const line = model.line.value!;
  return (
    <section>
      <div class="section-head">
        <h2>Positions</h2>
        <p class="small">Places that the products of the line share. What is said here holds for all of them.</p>
      </div>
      <table class="positions">
        <thead>
          <tr>
            <th scope="col">Position</th>
            <th scope="col">Label</th>
            <th scope="col">Options</th>
            <th scope="col">On</th>
            <th scope="col">
              <span class="unseen">Remove</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {line.positions.map(({ position, label, options }) => (
            <>
              <tr key={position}>
                <th scope="row" class="code">
                  {position}
                </th>
                <td>
                  <EditText
                    label={`Label of ${position}`}
                    value={label}
                    onCommit={(next) => void model.edit((now) => changePosition(now, position, { label: next }))}
                  />
                </td>
                <td>
                  <button
                    type="button"
                    aria-expanded={open.value === position}
                    onClick={() => {
                      open.value = open.value === position ? null : position;
                    }}
                  >
                    {describeOptions(options, null)}
                  </button>
                </td>
                <td>{sayProducts(model, position)}</td>
                <td class="figure no-print">
                  <button
                    type="button"
                    aria-label={`Remove the position ${label}`}
                    onClick={() => void model.edit((now) => removePosition(now, position))}
                  >
                    Remove
                  </button>
                </td>
              </tr>
              {open.value === position && (
                <tr class="opened" key={`${position} options`}>
                  <td colSpan={5}>
                    <OptionsEditor
                      title={`Options of ${label}`}
                      whole="The whole range"
                      options={options}
                      range={line.range}
                      finishes={model.finishes.value}
                      onChange={(next) =>
                        void model.edit((now) => changePosition(now, position, { options: next ?? undefined }))
                      }
                      onClose={() => {
                        open.value = null;
                      }}
                    />
                  </td>
                </tr>
              )}
            </>
          ))}
        </tbody>
      </table>
      <form
        class="total no-print"
        onSubmit={(event) => {
          event.preventDefault();
          const field = event.currentTarget.elements.namedItem('label') as HTMLInputElement;
          const label = field.value.trim();
          const position = toKey(label);
          if (position === '') return;
          field.value = '';
          void model.edit((now) => addPosition(now, { position, label }));
        }}
      >
        <Field inline name="A further position">
          <input name="label" maxLength={120} />
        </Field>
        <button type="submit">Add the position</button>
      </form>
    </section>
  );
}

/** The products with slots at a position. */
function sayProducts(model: LineModel, position: string): string {
  const there = model.effects.effects.value.filter(({ positions }) => positions.includes(position));
  return there.length > 0 ? there.map(({ product }) => product.name).join(', ') : 'no product yet';
}
