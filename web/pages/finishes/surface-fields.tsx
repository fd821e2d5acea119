import { FAMILY_DEFAULTS } from '../../../server/core/finish/families.ts';
import { Field } from '../../parts/field.tsx';
import { Select } from '../../parts/select.tsx';
import { TextField } from '../../parts/text-field.tsx';
import { describeGloss } from './describe-gloss.ts';
import type { FinishForm } from './finish-form.ts';
import type { Draft } from './resolve-draft.ts';
import type { SurfaceForm } from './surface-form.ts';

interface SurfaceFieldsProps {
  readonly form: FinishForm;
  /** The last that could be read. */
  readonly draft: Draft | null;
  readonly change: (part: Partial<SurfaceForm>) => void;
}

/** Gloss and roughness side by side: in the empty one stands what the other comes to. */
export function SurfaceFields({ form, draft, change }: SurfaceFieldsProps) {
  const gloss = draft && describeGloss(draft);
  const family = FAMILY_DEFAULTS[form.family];
  return (
    <>
      <TextField
        name="Gloss units at 60°, ISO 2813"
        value={form.gu60}
        instead={gloss?.gu60}
        figure
        onInput={(gu60) => change({ gu60 })}
      />
      <TextField name="At 20°, high gloss" value={form.gu20} figure onInput={(gu20) => change({ gu20 })} />
      <TextField name="At 85°, matt" value={form.gu85} figure onInput={(gu85) => change({ gu85 })} />
      <TextField
        name="Roughness, 0 to 1"
        value={form.roughness}
        instead={gloss?.roughness}
        figure
        onInput={(roughness) => change({ roughness })}
      />
      <TextField
        name="Clear coat over it, 0 to 1"
        value={form.clearcoat}
        instead={draft ? String(draft.resolved.clearcoat) : ''}
        figure
        onInput={(clearcoat) => change({ clearcoat })}
      />
      <TextField
        name="Roughness of the coat"
        value={form.clearcoatRoughness}
        instead={gloss?.clearcoatRoughness}
        figure
        onInput={(clearcoatRoughness) => change({ clearcoatRoughness })}
      />
      <TextField
        name="Index of refraction"
        value={form.ior}
        instead={draft ? String(draft.resolved.ior) : ''}
        figure
        onInput={(ior) => change({ ior })}
      />
      <Field name="Metal">
        <Select
          label="Metal"
          value={form.metal}
          options={[
            ['family', form.article ? 'As the article or family' : 'As the family'],
            ['yes', 'A metal'],
            ['no', 'No metal'],
          ]}
          onPick={(metal) => change({ metal })}
        />
      </Field>
      <div class="whole words" aria-live="polite">
        {gloss?.words.map((line) => (
          <p key={line} class="measure">
            {line}
          </p>
        ))}
        <p class="small soft measure">The family: {family.note}.</p>
      </div>
    </>
  );
}
