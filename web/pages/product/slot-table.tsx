import { useSignal } from '@preact/signals';
import { readNormalKeep } from '../../../server/core/product/slot.ts';
import type { SlotAnswer } from '../../../server/http/answers.ts';
import { count } from '../../format.ts';
import { EditText } from '../../parts/edit-text.tsx';
import { OptionsEditor } from '../../parts/options-editor.tsx';
import { describeOptions } from '../../parts/options-text.ts';
import { Select } from '../../parts/select.tsx';
import type { ProductModel } from './product-model.ts';

const NORMALS = [
  ['both-or-part', 'seams, with the weave'],
  ['both-or-finish', 'weave, with the seams'],
  ['part', 'seams alone'],
  ['finish', 'weave alone'],
] as const;

const KEEPS = [
  ['occlusion', 'shading', 'Keep the part’s own occlusion map: baked shading'],
  ['alpha', 'holes', 'Keep the part’s own alpha: cane, mesh, perforated sheet'],
  ['detail', 'pattern', 'Keep the part’s own neutral detail map: grain and weave under the finish’s colour'],
  ['wear', 'wear', 'Keep what varies in the part’s own roughness map, at the finish’s level of gloss'],
] as const;

/** The slots of the product: what they are called, what they may take, and what stays with the part. */
export function SlotTable({ model }: { readonly model: ProductModel }) {
  const open = useSignal<string | null>(null);
  return (
    <section>
      <div class="section-head">
        <h2>Slots</h2>
        <p class="small">One for each material of the model. What belongs to the part stays when its finish changes.</p>
      </div>
      <div class="scroll">
        <table class="slots">
          <thead>
            <tr>
              <th scope="col">Slot</th>
              <th scope="col">Position of the line</th>
              <th scope="col">Options</th>
              <th scope="col">Fixed</th>
              <th scope="col">Keeps of the part</th>
              <th scope="col" class="figure">
                Triangles
              </th>
            </tr>
          </thead>
          <tbody>
            {model.slots.value.map((slot) => (
              <SlotRow
                key={slot.slot}
                model={model}
                slot={slot}
                open={open.value === slot.slot}
                onOpen={() => {
                  open.value = open.value === slot.slot ? null : slot.slot;
                }}
              />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

interface SlotRowProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly open: boolean;
  readonly onOpen: () => void;
}

function SlotRow({ model, slot, open, onOpen }: SlotRowProps) {
  const change = (json: Parameters<ProductModel['changeSlot']>[1]) => void model.changeSlot(slot.slot, json);
  const line = model.line.value;
  const position = line?.positions.find((candidate) => candidate.position === slot.position);
  return (
    <>
      <tr>
        <th scope="row">
          <EditText label={`Label of ${slot.slot}`} value={slot.label} onCommit={(label) => change({ label })} />
          <small class="soft">
            {slot.slot}
            {slot.primitives === 0 && ', not in this model'}
          </small>
        </th>
        <td>
          <Select
            label={`Position of ${slot.label}`}
            value={slot.position ?? ''}
            disabled={!line}
            options={[
              ...(line?.positions ?? []).map((item) => [item.position, item.label] as const),
              ['', line ? 'None' : 'No line'],
            ]}
            onPick={(key) => change({ position: key === '' ? null : key })}
          />
        </td>
        <td>
          <button type="button" aria-expanded={open} disabled={slot.fixed} onClick={onOpen}>
            {slot.fixed ? 'None, it is fixed' : describeOptions(slot.options, position?.label ?? null)}
          </button>
          {!slot.fixed && <small class="soft"> {count(slot.allowed.length, 'finish', 'finishes')}</small>}
        </td>
        <td>
          <label class="tick">
            <input
              type="checkbox"
              aria-label={`${slot.label} is fixed and never changes finish`}
              checked={slot.fixed}
              onChange={(event) => change({ fixed: event.currentTarget.checked })}
            />
          </label>
        </td>
        <td>
          <span class="keeps">
            <span title="Whose normal map is shown: the part’s (seams, stitches), the finish’s (weave, grain), or both in one map; where that cannot be done, the one named first">
              <Select
                label={`Normal map of ${slot.label}`}
                value={readNormalKeep(slot.keep.normal)}
                options={NORMALS}
                onPick={(normal) => change({ keep: { normal } })}
              />
            </span>
            {KEEPS.map(([keep, word, title]) => (
              <label class="tick" key={keep} title={title}>
                <input
                  type="checkbox"
                  checked={slot.keep[keep] ?? true}
                  onChange={(event) => change({ keep: { [keep]: event.currentTarget.checked } })}
                />
                {word}
              </label>
            ))}
          </span>
        </td>
        <td class="figure">{slot.triangles.toLocaleString('en-GB').replaceAll(',', '\u2009')}</td>
      </tr>
      {open && !slot.fixed && (
        <tr class="opened">
          <td colSpan={6}>
            <OptionsEditor
              title={`Options of ${slot.label}`}
              whole={position ? `As the position ${position.label} has it` : 'The whole range'}
              options={slot.options}
              range={line?.range ?? []}
              finishes={[...model.finishes.value.values()]}
              onChange={(options) => change({ options })}
              onClose={onOpen}
            />
          </td>
        </tr>
      )}
    </>
  );
}
