import { useEffect } from 'preact/hooks';
import { PictureJob } from '../../parts/picture-job/picture-job.tsx';
import type { LineModel } from './line-model.ts';

/** The pictures of all products of a line, as a job. */
export function LinePictures({ model }: { readonly model: LineModel }) {
  const { pictures, products } = model;
  useEffect(() => void pictures.find(), [pictures]);
  const ready = products.value.filter(({ model: has, variants }) => has !== null && variants > 0);
  if (products.value.length === 0) return null;
  const names = new Map(products.value.map(({ code, name }) => [code, name]));
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Pictures</h2>
        <p class="small">
          {ready.length === 0
            ? 'No product has both a model and a schedule yet.'
            : 'Every variant of every product, in the studio and on a transparent ground; kept, and had by address from then on.'}
        </p>
      </div>
      <PictureJob
        model={pictures}
        words="Make all pictures"
        disabled={ready.length === 0}
        onStart={() => void pictures.start()}
        name={({ product, variant }) => `${names.get(product) ?? product}, ${variant}`}
      />
    </section>
  );
}
