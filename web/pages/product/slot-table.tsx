import { useSignal } from '@preact/signals';
import { readNormalKeep } from '../../../server/core/product/slot.ts';
import type { SlotAnswer } from '../../../server/http/contracts/slot.ts';
import { count } from '../../format.ts';
import { EditText } from '../../parts/edit-text.tsx';
import { OptionsEditor } from '../../parts/options-editor.tsx';
import { describeOptions } from '../../parts/options-text.ts';
import { Select } from '../../parts/select.tsx';
import { DirectionCell } from './direction/direction-cell.tsx';
import { DirectionSheet } from './direction/direction-sheet.tsx';
import type { ProductModel } from './product-model.ts';
import { addressStill } from './still-address.ts';

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
  const open = useSignal<{ readonly slot: string; readonly sheet: Sheet } | null>(null);
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
              <th scope="col">Direction</th>
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
                open={open.value?.slot === slot.slot ? open.value.sheet : null}
                onOpen={(sheet) => {
                  const same = open.value?.slot === slot.slot && open.value.sheet === sheet;
                  open.value = same ? null : { slot: slot.slot, sheet };
                }}
              />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

/** What a row can be opened for. */
type Sheet = 'options' | 'direction';

interface SlotRowProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly open: Sheet | null;
  readonly onOpen: (sheet: Sheet) => void;
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
            {slot.primitives === 0 ? (
              ', not in this model'
            ) : (
              <>
                {' '}
                <a class="no-print" href={addressStill(model, model.schedule.selectedRow.value, `slot:${slot.slot}`)}>
                  Close view
                </a>
              </>
            )}
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
          <button
            type="button"
            aria-expanded={open === 'options'}
            disabled={slot.fixed}
            onClick={() => onOpen('options')}
          >
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
          <DirectionCell
            slot={slot}
            open={open === 'direction'}
            onOpen={() => onOpen('direction')}
            onUse={(grainDegrees) => change({ grainDegrees })}
          />
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
              {slot.normalFrom === 'model' && readNormalKeep(slot.keep.normal) === 'finish' && (
                <small class="soft"> as the part’s own map has no seams</small>
              )}
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
      {open === 'direction' && (
        <tr class="opened">
          <td colSpan={7}>
            <DirectionSheet
              model={model}
              slot={slot}
              onUse={(grainDegrees) => change({ grainDegrees })}
              onClose={() => onOpen('direction')}
            />
          </td>
        </tr>
      )}
      {open === 'options' && !slot.fixed && (
        <tr class="opened">
          <td colSpan={7}>
            <OptionsEditor
              title={`Options of ${slot.label}`}
              whole={position ? `As the position ${position.label} has it` : 'The whole range'}
              options={slot.options}
              range={line?.range ?? []}
              finishes={[...model.finishes.value.values()]}
              onChange={(options) => change({ options })}
              onClose={() => onOpen('options')}
            />
          </td>
        </tr>
      )}
    </>
  );
}
