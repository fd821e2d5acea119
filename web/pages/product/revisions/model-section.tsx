import { useSignal } from '@preact/signals';
import { DropLine } from '../../../parts/drop-line.tsx';
import { navigate } from '../../../router.ts';
import type { ProductModel } from '../product-model.ts';
import { RevisionTable } from './revision-table.tsx';

/** The revisions of the model, sending another, and removing the product. */
export function ModelSection({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const isFirst = model.product.value?.model === null;
  return (
    <section>
      <div class="section-head">
        <h2>Model</h2>
        <p class="small">
          {isFirst
            ? 'None yet.'
            : 'Every export and every repair is a revision of its own. Slots, options and schedule stay whichever is current.'}
        </p>
      </div>
      <RevisionTable model={model} />
      <div class="after-table no-print">
        {revisions.sending.value === null ? (
          <DropLine
            text={
              isFirst
                ? 'The product has no model yet. Drop it here, or anywhere on this page: GLB, glTF or zip.'
                : 'Drop a newer export here, or anywhere on this page. What it changes is shown before it is taken.'
            }
            button="Choose a file"
            onFile={(file) => void revisions.send(file, isFirst)}
          />
        ) : (
          <p class="soft">A model is on its way; what becomes of it is told at the top of this page.</p>
        )}
      </div>
      <RemoveLine model={model} />
    </section>
  );
}

function RemoveLine({ model }: { readonly model: ProductModel }) {
  const asking = useSignal(false);
  return (
    <div class="total no-print">
      {asking.value ? (
        <div class="actions">
          <p>This removes {model.code} with its models, schedule and deliveries, for good.</p>
          <button
            type="button"
            onClick={async () => {
              if (await model.remove()) navigate('/');
            }}
          >
            Remove it
          </button>
          <button
            type="button"
            onClick={() => {
              asking.value = false;
            }}
          >
            Keep it
          </button>
        </div>
      ) : (
        <button
          type="button"
          onClick={() => {
            asking.value = true;
          }}
        >
          Remove this product
        </button>
      )}
    </div>
  );
}
