import { readNormalKeep } from '../../../../server/core/product/slot.ts';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { Field, Select } from '../../../parts/form.tsx';
import { productTexts } from '../../../texts/product.ts';
import { KEEPS } from './describe-part.ts';

const texts = productTexts.slots;

const NORMALS = (['both-or-part', 'both-or-finish', 'part', 'finish'] as const).map(
  (value) => [value, texts.normals[value]] as const,
);

interface KeepFieldsProps {
  readonly slot: SlotAnswer;
  readonly onChange: (keep: Partial<SlotAnswer['keep']>) => void;
}

/** What a slot's part keeps when its finish changes: seams or weave, and its own maps. */
export function KeepFields({ slot, onChange }: KeepFieldsProps) {
  const normal = readNormalKeep(slot.keep.normal);
  return (
    <fieldset class="keeps">
      <legend>{texts.keepsOf(slot.label)}</legend>
      <Field name={texts.relief} inline>
        <Select
          label={texts.normalMap(slot.label)}
          value={normal}
          options={NORMALS}
          onPick={(picked) => onChange({ normal: picked })}
        />
      </Field>
      <p class="small soft measure">
        {texts.normalHint}
        {slot.normalFrom === 'model' && normal === 'finish' && texts.noSeams}
      </p>
      {KEEPS.map((keep) => (
        <label class="tick" key={keep}>
          <input
            type="checkbox"
            checked={slot.keep[keep] ?? true}
            onChange={(event) => onChange({ [keep]: event.currentTarget.checked })}
          />
          {texts.keeps[keep].hint}
        </label>
      ))}
    </fieldset>
  );
}
