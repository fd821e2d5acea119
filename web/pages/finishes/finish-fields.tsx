import { isHex } from '../../../server/core/colour/srgb.ts';
import { FAMILIES } from '../../../server/core/finish/finish.ts';
import type { FinishAnswer } from '../../../server/http/answers.ts';
import { formatKey } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import { ColourFields } from './colour-fields.tsx';
import { describeRoughness } from './finish-form.ts';
import type { FinishesModel } from './finishes-model.ts';

interface FinishFieldsProps {
  readonly model: FinishesModel;
  /** Null for a new finish. */
  readonly before: FinishAnswer | null;
}

/** The row in which a finish is written or changed, with its chip in the colour that is typed. */
export function FinishFields({ model, before }: FinishFieldsProps) {
  const form = model.form.value;
  const hex = form.hex.trim();
  return (
    <form
      class="finish-form no-print"
      onSubmit={(event) => {
        event.preventDefault();
        void model.save();
      }}
      onKeyDown={(event) => {
        if (event.key === 'Escape') model.open.value = null;
      }}
    >
      <span
        class="chip large"
        role="img"
        aria-label={`Chip in ${hex}`}
        style={{ backgroundColor: isHex(hex) ? hex : 'transparent' }}
      />
      <div class="form">
        {before === null && (
          <Field name="Code">
            <input
              value={form.code}
              required
              maxLength={64}
              onInput={(event) => model.change({ code: event.currentTarget.value.trim() })}
            />
          </Field>
        )}
        <Field name="Name">
          <input value={form.name} required onInput={(event) => model.change({ name: event.currentTarget.value })} />
        </Field>
        <Field name="Family">
          <Select
            label="Family"
            value={form.family}
            options={FAMILIES.map((family) => [family, formatKey(family)])}
            onPick={(family) => model.change({ family })}
          />
        </Field>
        <Field name="Article">
          <Select
            label="Article"
            value={form.article}
            options={[['', 'None'], ...model.articles.value.map(({ article, name }) => [article, name] as const)]}
            onPick={(article) => model.change({ article })}
          />
        </Field>
        <ColourFields form={form} before={before} change={model.change} />
        <Field name={`Roughness, 0 to 1; empty: ${form.article ? 'as the article' : describeRoughness(form.family)}`}>
          <input
            value={form.roughness}
            inputMode="decimal"
            onInput={(event) => model.change({ roughness: event.currentTarget.value })}
          />
        </Field>
        <Field name="Gloss units at 60°, ISO 2813; empty: none read">
          <input
            value={form.gu60}
            inputMode="decimal"
            onInput={(event) => model.change({ gu60: event.currentTarget.value })}
          />
        </Field>
        <Field name="Metal">
          <Select
            label="Metal"
            value={form.metal}
            options={[
              ['family', form.article ? 'As the article or family' : 'As the family'],
              ['yes', 'A metal'],
              ['no', 'No metal'],
            ]}
            onPick={(metal) => model.change({ metal })}
          />
        </Field>
        {before?.supplied && (
          <Field name="Material">
            <Select
              label="Material"
              value={form.material}
              options={[
                ['supplied', 'As it came with a model; colour and surface only describe it'],
                ['made', 'Made from colour and surface; the one it came with is given up'],
              ]}
              onPick={(material) => model.change({ material })}
            />
          </Field>
        )}
        <div class="actions whole">
          <button type="submit" class="main" disabled={model.busy.value}>
            {before ? 'Save the finish' : 'Add the finish'}
          </button>
          <button
            type="button"
            onClick={() => {
              model.open.value = null;
            }}
          >
            Close
          </button>
          {before && (
            <button type="button" disabled={model.busy.value} onClick={() => void model.remove(before.finish)}>
              Remove it from the card
            </button>
          )}
        </div>
        <div class="whole">
          <Notice text={model.formTrouble.value} />
        </div>
      </div>
    </form>
  );
}
