import { count, formatBytes, formatDate, shortDigest } from '../../format.ts';
import { Field } from '../../parts/field.tsx';
import { FindingList } from '../../parts/finding-list.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import type { ProductModel } from './product-model.ts';

/** Deliveries: making one, what it had to say, and those that were made. */
export function DeliverySection({ model }: { readonly model: ProductModel }) {
  const { deliveries, schedule } = model;
  const list = deliveries.list.value;
  const unsaved = schedule.changes.value.any;
  const none = schedule.saved.value.rows.length === 0;
  const { latest, findings, trouble, busy } = deliveries;
  return (
    <section>
      <div class="section-head">
        <h2>Deliveries</h2>
        <p class="small">One GLB that carries every variant of the saved schedule. A delivery is never changed.</p>
      </div>
      {list.length > 0 && (
        <div class="scroll">
          <table class="deliveries">
            <thead>
              <tr>
                <th scope="col">No.</th>
                <th scope="col">Made</th>
                <th scope="col" class="figure">
                  Variants
                </th>
                <th scope="col" class="figure">
                  Size
                </th>
                <th scope="col">SHA-256</th>
                <th scope="col">Files</th>
              </tr>
            </thead>
            <tbody>
              {list.map((delivery) => (
                <tr key={delivery.delivery} class={delivery.delivery === latest.value ? 'selected' : undefined}>
                  <th scope="row">{delivery.delivery}</th>
                  <td>{formatDate(delivery.createdAt)}</td>
                  <td class="figure">{delivery.variants}</td>
                  <td class="figure">{formatBytes(delivery.bytes)}</td>
                  <td class="code" title={delivery.sha256}>
                    {shortDigest(delivery.sha256)}
                  </td>
                  <td>
                    <span class="actions-inline">
                      <a class="button" href={delivery.model} download={`${model.code}-${delivery.delivery}.glb`}>
                        GLB<span class="unseen"> of delivery {delivery.delivery}</span>
                      </a>
                      <a
                        class="button"
                        href={delivery.manifest}
                        download={`${model.code}-${delivery.delivery}-manifest.json`}
                      >
                        Manifest<span class="unseen"> of delivery {delivery.delivery}</span>
                      </a>
                    </span>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {list.length === 0 && <p class="soft">None yet.</p>}
      <div class="total no-print">
        <div class="actions">
          <Field inline name="Variants are named by their">
            <Select
              label="Variants are named by their"
              value={deliveries.names.value}
              options={[
                ['name', 'names'],
                ['code', 'codes'],
              ]}
              onPick={(names) => {
                deliveries.names.value = names;
              }}
            />
          </Field>
          <button
            type="button"
            class="main"
            disabled={busy.value || unsaved || none}
            onClick={() => void deliveries.deliver()}
          >
            {busy.value ? 'Delivering' : 'Deliver'}
          </button>
        </div>
        {unsaved && <p class="soft">Save the schedule first: what is saved is what is delivered.</p>}
        {none && !unsaved && <p class="soft">The schedule has no variants yet.</p>}
      </div>
      <Notice
        text={
          trouble.value ??
          (latest.value === null
            ? null
            : `Delivery ${latest.value} is made${findings.value.length > 0 ? `, with ${count(findings.value.length, 'finding')} to read` : ''}.`)
        }
      />
      {findings.value.length > 0 && <FindingList findings={findings.value} />}
    </section>
  );
}
