import { useSignal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import { count } from '../../format.ts';
import { DropLine } from '../../parts/drop-line.tsx';
import { FindingList } from '../../parts/finding-list.tsx';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { navigate } from '../../router.ts';
import { DeliverySection } from './delivery-section.tsx';
import { PicturesSection } from './pictures-section.tsx';
import { ProductFigure } from './product-figure.tsx';
import { createProductModel, type ProductModel } from './product-model.ts';
import { hasLeftOver } from './schedule-model.ts';
import { ScheduleSection } from './schedule-section.tsx';
import { SlotTable } from './slot-table.tsx';
import { TitleBlock } from './title-block.tsx';
import { VariantStrip } from './variant-strip.tsx';

/** A product on one sheet: what it is, how it looks, what was found, its slots, its schedule, what was made of it. */
export function ProductPage({ code }: { readonly code: string }) {
  const model = useMemo(() => createProductModel(code), [code]);
  useEffect(() => {
    void model.load();
    const ask = (event: BeforeUnloadEvent) => {
      if (model.schedule.changes.value.any || hasLeftOver()) event.preventDefault();
    };
    window.addEventListener('beforeunload', ask);
    return () => {
      window.removeEventListener('beforeunload', ask);
      model.close();
    };
  }, [model]);
  const product = model.product.value;
  const findings = model.findings.value;
  return (
    <>
      <Heading text={product?.name ?? code} also={product?.code} />
      <Notice text={model.trouble.value} />
      {product && <TitleBlock model={model} />}
      {product?.model && (
        <>
          <ProductFigure model={model} />
          <section>
            <div class="section-head">
              <h2>Findings</h2>
              <p class="small">
                {findings.length === 0 ? 'Nothing stands against a delivery.' : count(findings.length, 'remark')}
              </p>
            </div>
            {findings.length > 0 && <FindingList findings={findings} />}
          </section>
          <SlotTable model={model} />
          <ScheduleSection model={model} />
          <VariantStrip model={model} />
          <DeliverySection model={model} />
          <PicturesSection model={model} />
        </>
      )}
      {product && <ModelSection model={model} />}
    </>
  );
}

/** Sending another revision, and removing the product. */
function ModelSection({ model }: { readonly model: ProductModel }) {
  const asking = useSignal(false);
  const revision = model.product.value?.model?.revision;
  const sending = model.sending.value;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>Model</h2>
        {revision !== undefined && (
          <p class="small">
            Revision {revision}.{' '}
            <a class="button" href={`${model.path}/model.glb`} download={`${model.code}-model.glb`}>
              Download it as it is stored
            </a>
          </p>
        )}
      </div>
      {sending === null ? (
        <DropLine
          text={
            revision === undefined
              ? 'The product has no model yet. Drop it here, or anywhere on this page: GLB, glTF or zip.'
              : 'Drop a newer export here, or anywhere on this page. It becomes the next revision; slots and schedule stay.'
          }
          button="Choose a file"
          onFile={(file) => void model.sendModel(file)}
        />
      ) : (
        <p role="status">
          {sending < 1 ? `Sending, ${Math.round(sending * 100)} %` : 'Sent. The model is being read and measured.'}
          <progress aria-label="Sent" value={sending} />
        </p>
      )}
      <div class="total">
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
    </section>
  );
}
