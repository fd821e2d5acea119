import { useComputed, useSignal } from '@preact/signals';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { EditText, Select } from '../../../parts/form.tsx';
import { describeOptions, OptionsEditor } from '../../../parts/options-editor.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import { describePart } from './describe-part.ts';
import { DirectionEditor, DirectionProposal } from './direction-editor.tsx';
import { KeepFields } from './keep-fields.tsx';

const texts = productTexts.slots;

/** The slots of a product: their names, their options, and what their parts keep. */
export function SlotTable({ model }: { readonly model: ProductModel }) {
  const open = useSignal<{ readonly slot: string; readonly editor: Editor } | null>(null);
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.intro}</p>
      </div>
      <div class="scroll">
        <table class="slots">
          <thead>
            <tr>
              <th scope="col">{texts.columns.slot}</th>
              <th scope="col">{texts.columns.position}</th>
              <th scope="col">{texts.columns.options}</th>
              <th scope="col">{texts.columns.fixed}</th>
              <th scope="col">{texts.columns.keeps}</th>
            </tr>
          </thead>
          <tbody>
            {model.slots.value.map((slot) => (
              <SlotRow
                key={slot.slot}
                model={model}
                slot={slot}
                open={open.value?.slot === slot.slot ? open.value.editor : null}
                onOpen={(editor) => {
                  const same = open.value?.slot === slot.slot && open.value.editor === editor;
                  open.value = same ? null : { slot: slot.slot, editor };
                }}
              />
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

/** The editors that open below a row. */
type Editor = 'options' | 'part';

interface SlotRowProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly open: Editor | null;
  readonly onOpen: (editor: Editor) => void;
}

function SlotRow({ model, slot, open, onOpen }: SlotRowProps) {
  const change = (json: Parameters<ProductModel['changeSlot']>[1]) => void model.changeSlot(slot.slot, json);
  const { view } = model;
  const isPointed = useComputed(() => view.pointed.value?.slot === slot.slot).value;
  const light = (on: boolean) => {
    view.lit.value = on ? { slot: slot.slot } : null;
  };
  const line = model.line.value;
  const position = line?.positions.find((candidate) => candidate.position === slot.position);
  return (
    <>
      {/* a row and its part light up together, both ways */}
      <tr
        class={isPointed ? 'pointed-at' : undefined}
        onPointerEnter={() => light(true)}
        onPointerLeave={() => light(false)}
        onFocusCapture={() => light(true)}
        onBlurCapture={() => light(false)}
      >
        <th scope="row">
          <EditText label={texts.label(slot.slot)} value={slot.label} onCommit={(label) => change({ label })} />
          <small class="soft">
            {slot.slot}
            {slot.primitives === 0 ? (
              texts.notInModel
            ) : (
              <>
                , {texts.triangles(slot.triangles)}{' '}
                <a
                  class="no-print"
                  href={model.getPictureAddress(model.schedule.selectedRow.value, `slot:${slot.slot}`)}
                >
                  {texts.closeUp}
                </a>
              </>
            )}
          </small>
        </th>
        <td>
          <Select
            label={texts.position(slot.label)}
            value={slot.position ?? ''}
            disabled={!line}
            options={[
              ...(line?.positions ?? []).map((item) => [item.position, item.label] as const),
              ['', line ? texts.noPosition : commonTexts.noLine],
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
            {slot.fixed ? texts.fixedOptions : describeOptions(slot.options, position?.label ?? null)}
          </button>
          {!slot.fixed && <small class="soft"> {texts.finishCount(slot.allowed.length)}</small>}
        </td>
        <td>
          <label class="tick">
            <input
              type="checkbox"
              aria-label={texts.fixed(slot.label)}
              checked={slot.fixed}
              onChange={(event) => change({ fixed: event.currentTarget.checked })}
            />
          </label>
        </td>
        <td>
          {describePart(slot)} ·{' '}
          <button
            type="button"
            aria-expanded={open === 'part'}
            aria-label={texts.changePart(slot.label)}
            onClick={() => onOpen('part')}
          >
            {texts.change}
          </button>
          {!slot.fixed && <DirectionProposal slot={slot} onUse={(grainDegrees) => change({ grainDegrees })} />}
        </td>
      </tr>
      {open === 'part' && (
        <tr class="opened">
          <td colSpan={5}>
            <KeepFields slot={slot} onChange={(keep) => change({ keep })} />
            <DirectionEditor
              model={model}
              slot={slot}
              onUse={(grainDegrees) => change({ grainDegrees })}
              onClose={() => onOpen('part')}
            />
          </td>
        </tr>
      )}
      {open === 'options' && !slot.fixed && (
        <tr class="opened">
          <td colSpan={5}>
            <OptionsEditor
              title={texts.optionsOf(slot.label)}
              otherwise={position ? texts.sameAsPosition(position.label) : texts.wholeRange}
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
