import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { Field } from '../../parts/field.tsx';
import { PictureJob } from '../../parts/picture-job/picture-job.tsx';
import { Select } from '../../parts/select.tsx';
import type { ProductModel } from './product-model.ts';

const ROWS = [
  ['all', 'every variant of the schedule'],
  ['each-finish', 'a check set: each finish once'],
  ['pairs', 'a check set: every allowed pair once'],
] as const;

/** Pictures of all variants, or of a check set, as a job. */
export function PicturesSection({ model }: { readonly model: ProductModel }) {
  const { pictures, schedule } = model;
  const rows = useSignal<(typeof ROWS)[number][0]>('all');
  useEffect(() => void pictures.find(), [pictures]);
  const names = new Map(schedule.saved.value.rows.map(({ code, name }) => [code, name]));
  const none = rows.value === 'all' && names.size === 0;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Pictures</h2>
        <p class="small">
          {none
            ? 'The schedule has no variant yet: add one, or take a check set.'
            : 'In the studio, on a transparent ground; kept, and had by address from then on.'}
        </p>
      </div>
      <PictureJob
        model={pictures}
        words="Make all pictures"
        disabled={none}
        onStart={() => void pictures.start(rows.value === 'all' ? {} : { checkSet: rows.value })}
        name={({ variant }) => names.get(variant) ?? variant}
      >
        <Field inline name="Of">
          <Select
            label="Of which rows"
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
