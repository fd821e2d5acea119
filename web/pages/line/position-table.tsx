import { useSignal } from '@preact/signals';
import { Fragment } from 'preact';
import { toKey } from '../../../server/core/codes.ts';
import { listNames } from '../../format.ts';
import { EditText, Field } from '../../parts/form.tsx';
import { describeOptions, OptionsEditor } from '../../parts/options-editor.tsx';
import { commonTexts } from '../../texts/common.ts';
import { lineTexts } from '../../texts/line.ts';
import { addPosition, changePosition, removePosition } from './line-changes.ts';
import type { LineModel } from './line-model.ts';

const texts = lineTexts.positions;

/** The positions of the line, each with its label and options. */
export function PositionTable({ model }: { readonly model: LineModel }) {
  const open = useSignal<string | null>(null);
  const line = model.line.value!;
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.note}</p>
      </div>
      <table class="positions">
        <thead>
          <tr>
            <th scope="col">{texts.position}</th>
            <th scope="col">{texts.label}</th>
            <th scope="col">{texts.options}</th>
            <th scope="col">{texts.products}</th>
            <th scope="col">
              <span class="unseen">{commonTexts.remove}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {line.positions.map(({ position, label, options }) => (
            <Fragment key={position}>
              <tr>
                <th scope="row" class="code">
                  {position}
                </th>
                <td>
                  <EditText
                    label={texts.labelOf(position)}
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
                <td>{listProducts(model, position)}</td>
                <td class="figure no-print">
                  <button
                    type="button"
                    aria-label={texts.removePosition(label)}
                    onClick={(event) => {
                      // the focus goes to the next position, since this button goes
                      focusNeighbour(event.currentTarget);
                      void model.edit((now) => removePosition(now, position));
                    }}
                  >
                    {commonTexts.remove}
                  </button>
                </td>
              </tr>
              {open.value === position && (
                <tr class="opened">
                  <td colSpan={5}>
                    <OptionsEditor
                      title={texts.optionsOf(label)}
                      otherwise={commonTexts.options.wholeRange}
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
            </Fragment>
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
        <Field inline name={texts.newPosition}>
          <input name="label" maxLength={120} />
        </Field>
        <button type="submit">{texts.add}</button>
      </form>
    </section>
  );
}

function focusNeighbour(button: HTMLElement): void {
  const section = button.closest('section')!;
  const buttons = [...section.querySelectorAll<HTMLElement>('tbody td:last-child > button')];
  const at = buttons.indexOf(button);
  (buttons[at + 1] ?? buttons[at - 1] ?? section.querySelector<HTMLElement>('form input'))?.focus();
}

/** Names of the products that have a slot at a position. */
function listProducts(model: LineModel, position: string): string {
  const there = model.effects.effects.value.filter(({ positions }) => positions.includes(position));
  return there.length > 0 ? listNames(there.map(({ product }) => product.name)) : texts.noProduct;
}
