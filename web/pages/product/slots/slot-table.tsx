import { useSignal } from '@preact/signals';
import { readNormalKeep } from '../../../../server/core/product/slot.ts';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { EditText, Select } from '../../../parts/form.tsx';
import { describeOptions, OptionsEditor } from '../../../parts/options-editor.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import { DirectionCell, DirectionEditor } from './direction-editor.tsx';

const texts = productTexts.slots;

const NORMALS = (['both-or-part', 'both-or-finish', 'part', 'finish'] as const).map(
  (value) => [value, texts.normals[value]] as const,
);

const KEEPS = ['occlusion', 'alpha', 'detail', 'wear'] as const;

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
              <th scope="col">{texts.columns.direction}</th>
              <th scope="col">{texts.columns.keeps}</th>
              <th scope="col" class="figure">
                {texts.columns.triangles}
              </th>
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
type Editor = 'options' | 'direction';

interface SlotRowProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  readonly open: Editor | null;
  readonly onOpen: (editor: Editor) => void;
}

function SlotRow({ model, slot, open, onOpen }: SlotRowProps) {
  const change = (json: Parameters<ProductModel['changeSlot']>[1]) => void model.changeSlot(slot.slot, json);
  const line = model.line.value;
  const position = line?.positions.find((candidate) => candidate.position === slot.position);
  return (
    <>
      <tr>
        <th scope="row">
          <EditText label={texts.label(slot.slot)} value={slot.label} onCommit={(label) => change({ label })} />
          <small class="soft">
            {slot.slot}
            {slot.primitives === 0 ? (
              texts.notInModel
            ) : (
              <>
                {' '}
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
          <DirectionCell
            slot={slot}
            open={open === 'direction'}
            onOpen={() => onOpen('direction')}
            onUse={(grainDegrees) => change({ grainDegrees })}
          />
        </td>
        <td>
          <span class="keeps">
            <span title={texts.normalHint}>
              <Select
                label={texts.normalMap(slot.label)}
                value={readNormalKeep(slot.keep.normal)}
                options={NORMALS}
                onPick={(normal) => change({ keep: { normal } })}
              />
              {slot.normalFrom === 'model' && readNormalKeep(slot.keep.normal) === 'finish' && (
                <small class="soft">{texts.noSeams}</small>
              )}
            </span>
            {KEEPS.map((keep) => (
              <label class="tick" key={keep} title={texts.keeps[keep].hint}>
                <input
                  type="checkbox"
                  checked={slot.keep[keep] ?? true}
                  onChange={(event) => change({ keep: { [keep]: event.currentTarget.checked } })}
                />
                {texts.keeps[keep].label}
              </label>
            ))}
          </span>
        </td>
        <td class="figure">{formatNumber(slot.triangles)}</td>
      </tr>
      {open === 'direction' && (
        <tr class="opened">
          <td colSpan={7}>
            <DirectionEditor
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
