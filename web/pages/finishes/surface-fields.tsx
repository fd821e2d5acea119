import { FAMILY_DEFAULTS } from '../../../server/core/finish/families.ts';
import { Field, Select, TextField } from '../../parts/form.tsx';
import { finishesTexts } from '../../texts/finishes.ts';
import { type Draft, describeGloss } from './finish-draft.ts';
import type { FinishForm } from './finish-form.ts';
import type { SurfaceForm } from './surface-form.ts';

const texts = finishesTexts.surface;

interface SurfaceFieldsProps {
  readonly form: FinishForm;
  /** The last valid draft. */
  readonly draft: Draft | null;
  readonly change: (part: Partial<SurfaceForm>) => void;
}

/** Gloss and roughness side by side: an empty field shows the value that follows from the other. */
export function SurfaceFields({ form, draft, change }: SurfaceFieldsProps) {
  const gloss = draft && describeGloss(draft);
  const family = FAMILY_DEFAULTS[form.family];
  return (
    <>
      <TextField
        name={texts.gu60}
        value={form.gu60}
        placeholder={gloss?.gu60}
        figure
        onInput={(gu60) => change({ gu60 })}
      />
      <TextField name={texts.gu20} value={form.gu20} figure onInput={(gu20) => change({ gu20 })} />
      <TextField name={texts.gu85} value={form.gu85} figure onInput={(gu85) => change({ gu85 })} />
      <TextField
        name={texts.roughness}
        value={form.roughness}
        placeholder={gloss?.roughness}
        figure
        onInput={(roughness) => change({ roughness })}
      />
      <TextField
        name={texts.clearcoat}
        value={form.clearcoat}
        placeholder={draft ? String(draft.resolved.clearcoat) : ''}
        figure
        onInput={(clearcoat) => change({ clearcoat })}
      />
      <TextField
        name={texts.clearcoatRoughness}
        value={form.clearcoatRoughness}
        placeholder={gloss?.clearcoatRoughness}
        figure
        onInput={(clearcoatRoughness) => change({ clearcoatRoughness })}
      />
      <TextField
        name={texts.ior}
        value={form.ior}
        placeholder={draft ? String(draft.resolved.ior) : ''}
        figure
        onInput={(ior) => change({ ior })}
      />
      <Field name={texts.metal}>
        <Select
          label={texts.metal}
          value={form.metal}
          options={[
            ['family', form.article ? texts.fromArticle : texts.fromFamily],
            ['yes', texts.yes],
            ['no', texts.no],
          ]}
          onPick={(metal) => change({ metal })}
        />
      </Field>
      <div class="whole words" aria-live="polite">
        {gloss?.sentences.map((sentence) => (
          <p key={sentence} class="measure">
            {sentence}
          </p>
        ))}
        <p class="small soft measure">{texts.familyDefault(family.note)}</p>
      </div>
    </>
  );
}
