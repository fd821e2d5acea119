import { Fragment } from 'preact';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import type { DeliveryListAnswer } from '../../../../server/http/contracts/delivery.ts';
import { formatBytes, formatDate } from '../../../format.ts';
import { Field } from '../../../parts/form.tsx';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';

type Listed = DeliveryListAnswer['deliveries'][number];

const texts = productTexts.deliveries;
const COLUMNS = 5;

/** The deliveries, newest first, with what is said of each, and the way to withdraw one. */
export function DeliveryTable({ model }: { readonly model: ProductModel }) {
  const { list, latest, withdrawing } = model.deliveries;
  const asked = withdrawing.value?.delivery;
  return (
    <div class="scroll delivered">
      <table class="deliveries">
        <thead>
          <tr>
            <th scope="col">{texts.columns.number}</th>
            <th scope="col">{texts.columns.created}</th>
            <th scope="col" class="figure">
              {texts.columns.variants}
            </th>
            <th scope="col" class="figure">
              {texts.columns.size}
            </th>
            <th scope="col">{texts.columns.files}</th>
          </tr>
        </thead>
        <tbody>
          {list.entries.value.map((delivery) => (
            <Fragment key={delivery.delivery}>
              <tr class={delivery.delivery === latest.value?.delivery ? 'selected' : undefined}>
                <th scope="row">{delivery.delivery}</th>
                <td>
                  {formatDate(delivery.createdAt)}
                  {delivery.note !== undefined && (
                    <span class="small soft" dir="auto">
                      {` ${delivery.note}`}
                    </span>
                  )}
                </td>
                <td class="figure">{formatNumber(delivery.variants)}</td>
                <td class="figure">{formatBytes(delivery.bytes)}</td>
                <td>
                  <Files model={model} delivery={delivery} />
                </td>
              </tr>
              {asked === delivery.delivery && <Withdrawal model={model} />}
            </Fragment>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** The record of a delivery stays readable when its files are not sent any more. */
function Files({ model, delivery }: { readonly model: ProductModel; readonly delivery: Listed }) {
  const { withdrawing } = model.deliveries;
  const { delivery: number, withdrawn } = delivery;
  return (
    <span class="actions-inline">
      {withdrawn ? (
        <span dir="auto">{texts.withdrawn(formatDate(withdrawn.at), withdrawn.reason)}</span>
      ) : (
        <a class="button" href={delivery.model} download={`${model.code}-${number}.glb`}>
          {texts.glb}
          <span class="unseen">{texts.ofDelivery(number)}</span>
        </a>
      )}
      <a class="button" href={delivery.manifest} download={`${model.code}-${number}-manifest.json`}>
        {texts.manifest}
        <span class="unseen">{texts.ofDelivery(number)}</span>
      </a>
      {!withdrawn && (
        <button
          type="button"
          aria-expanded={withdrawing.value?.delivery === number}
          onClick={() => {
            withdrawing.value = withdrawing.value?.delivery === number ? null : { delivery: number, reason: '' };
          }}
        >
          {texts.withdraw}
          <span class="unseen">{texts.ofDelivery(number)}</span>
        </button>
      )}
    </span>
  );
}

/** Says what a withdrawal does, and asks for its reason. */
function Withdrawal({ model }: { readonly model: ProductModel }) {
  const { withdrawing, withdraw, busy } = model.deliveries;
  const { delivery, reason } = withdrawing.value!;
  return (
    <tr class="opened">
      <td colSpan={COLUMNS}>
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void withdraw();
          }}
        >
          <p class="measure">{texts.withdrawalWarning(delivery)}</p>
          <div class="actions">
            <Field inline name={texts.reason}>
              <input
                value={reason}
                required
                maxLength={2000}
                onInput={(event) => {
                  withdrawing.value = { delivery, reason: event.currentTarget.value };
                }}
              />
            </Field>
            <button type="submit" disabled={reason.trim() === ''} aria-disabled={busy.value ? 'true' : undefined}>
              {texts.withdrawNow(delivery)}
            </button>
          </div>
        </form>
      </td>
    </tr>
  );
}
