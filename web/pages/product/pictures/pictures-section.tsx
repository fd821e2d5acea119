import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { Field, Select } from '../../../parts/form.tsx';
import { PictureJob } from '../../../parts/picture-job.tsx';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';

const texts = productTexts.pictures;

const ROWS = [
  ['all', texts.rowKinds.all],
  ['each-finish', texts.rowKinds['each-finish']],
  ['pairs', texts.rowKinds.pairs],
] as const;

/** Makes pictures of all variants, or of a check set, as a job. */
export function PicturesSection({ model }: { readonly model: ProductModel }) {
  const { pictures, schedule } = model;
  const rows = useSignal<(typeof ROWS)[number][0]>('all');
  useEffect(() => void pictures.find(), [pictures]);
  const names = new Map(schedule.saved.value.rows.map(({ code, name }) => [code, name]));
  const none = rows.value === 'all' && names.size === 0;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{none ? texts.noVariants : texts.intro}</p>
      </div>
      <PictureJob
        model={pictures}
        button={texts.make}
        disabled={none}
        onStart={() => void pictures.start(rows.value === 'all' ? {} : { checkSet: rows.value })}
        name={({ variant }) => names.get(variant) ?? variant}
      >
        <Field inline name={texts.rows}>
          <Select
            label={texts.rows}
            value={rows.value}
            options={ROWS}
            onPick={(picked) => {
              rows.value = picked;
            }}
          />
        </Field>
      </PictureJob>
    </section>
  );
}
