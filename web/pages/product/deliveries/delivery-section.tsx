import { FindingList } from '../../../parts/finding-list.tsx';
import { Field, Notice, Select } from '../../../parts/form.tsx';
import { ShowMore } from '../../../parts/show-more.tsx';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import { ChangeList } from './change-list.tsx';
import { DeliveryTable } from './delivery-table.tsx';
import { EmbedSection } from './embed-section.tsx';
import { FilesSection } from './files-section.tsx';
import { WeightSection } from './weight-section.tsx';

const texts = productTexts.deliveries;

/** Deliveries: what differs since the last one, making a new one, and the list. */
export function DeliverySection({ model }: { readonly model: ProductModel }) {
  const { deliveries, schedule } = model;
  const list = deliveries.list.entries.value;
  const unsaved = schedule.changes.value.any;
  const none = schedule.saved.value.rows.length === 0;
  const { latest, findings, problem, busy, shown } = deliveries;
  const made = latest.value;
  const newest = deliveries.files.newest.value;
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.intro}</p>
      </div>
      {shown.value && <ChangeList pending={shown.value} />}
      <div class="total no-print">
        <div class="actions">
          <Field inline name={texts.variantNames}>
            <Select
              label={texts.variantNames}
              value={deliveries.names.value}
              options={[
                ['name', texts.namedBy.name],
                ['code', texts.namedBy.code],
              ]}
              onPick={(names) => void deliveries.pick(names)}
            />
          </Field>
          <Field inline name={texts.note}>
            <input
              value={deliveries.note.value}
              maxLength={2000}
              onInput={(event) => {
                deliveries.note.value = event.currentTarget.value;
              }}
            />
          </Field>
          <button
            type="button"
            class="main"
            disabled={unsaved || none}
            aria-disabled={busy.value ? 'true' : undefined}
            onClick={() => {
              // stays focusable while it works
              if (!busy.value) void deliveries.deliver();
            }}
          >
            {busy.value ? texts.delivering : texts.deliver}
          </button>
        </div>
        {!unsaved && !none && <p class="soft">{texts.forGood}</p>}
        {unsaved && <p class="soft">{texts.saveFirst}</p>}
        {none && !unsaved && <p class="soft">{texts.noVariants}</p>}
      </div>
      <Notice text={problem.value ?? (made && describeMade(made, findings.value.length))} />
      {findings.value.length > 0 && <FindingList findings={findings.value} />}
      {list.length > 0 && <DeliveryTable model={model} />}
      {newest !== null && <FilesSection model={model.deliveries.files} />}
      {newest !== null && (
        <EmbedSection model={model.deliveries.files} name={model.product.value?.name ?? model.code} />
      )}
      {newest !== null && <WeightSection key={newest} model={model} delivery={newest} />}
      <ShowMore list={deliveries.list} what={texts.heading} />
      {list.length === 0 && <p class="soft">{texts.none}</p>}
    </section>
  );
}

function describeMade(
  { delivery, unchanged }: NonNullable<ProductModel['deliveries']['latest']['value']>,
  findings: number,
) {
  return unchanged ? texts.stands(delivery) : texts.done(delivery, findings);
}
