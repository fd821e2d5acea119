import { Field } from '../../parts/field.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Picture } from '../../parts/picture.tsx';
import { Select } from '../../parts/select.tsx';
import { describeJob, listMade } from './pictures-model.ts';
import type { ProductModel } from './product-model.ts';

const SIZES = ['512', '1024', '2048'] as const;

/** Pictures of all variants as a job: its progress in a line, and the pictures as they arrive. */
export function PicturesSection({ model }: { readonly model: ProductModel }) {
  const { pictures } = model;
  const job = pictures.job.value;
  const under = job?.state === 'queued' || job?.state === 'running';
  const none = model.schedule.saved.value.rows.length === 0;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Pictures</h2>
        <p class="small">
          Every variant in the studio, on a transparent ground; kept, and had by address from then on.
        </p>
      </div>
      <div class="actions">
        <Field inline name="Size in pixels">
          <Select
            label="Size in pixels"
            value={String(pictures.size.value)}
            options={SIZES.map((size) => [size, size])}
            onPick={(size) => {
              pictures.size.value = Number(size);
            }}
          />
        </Field>
        <Field inline name="Format">
          <Select
            label="Format"
            value={pictures.format.value}
            options={[
              ['webp', 'WebP'],
              ['png', 'PNG'],
              ['jpg', 'JPEG, on white'],
            ]}
            onPick={(format) => {
              pictures.format.value = format;
            }}
          />
        </Field>
        <button type="button" class="main" disabled={under || none} onClick={() => void pictures.start()}>
          Make the pictures
        </button>
        {under && (
          <button type="button" onClick={() => void pictures.cancel()}>
            Cancel
          </button>
        )}
      </div>
      {job && (
        <div class="job">
          <p role="status">{describeJob(job)}</p>
          <progress aria-label="Pictures made" value={job.done} max={Math.max(job.total, 1)} />
          {job.failures.length > 0 && (
            <ul class="measure">
              {job.failures.slice(0, 10).map((failure) => (
                <li key={failure}>{failure}</li>
              ))}
            </ul>
          )}
          <ul class="strip">
            {listMade(job).map(({ variant, address }) => (
              <li key={address}>
                <a href={address} target="_blank" rel="noreferrer">
                  <Picture address={address} alt="" />
                  <span class="small">{variant}</span>
                </a>
              </li>
            ))}
          </ul>
        </div>
      )}
      <Notice text={pictures.trouble.value} />
    </section>
  );
}
