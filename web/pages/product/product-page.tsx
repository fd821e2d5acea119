import { useEffect, useMemo } from 'preact/hooks';
import { Notice } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { ContentsSection } from './contents/contents-section.tsx';
import { DeliverySection } from './deliveries/delivery-section.tsx';
import { ProductFigure } from './figure/product-figure.tsx';
import { PictureSetsSection } from './pictures/picture-sets-section.tsx';
import { PicturesSection } from './pictures/pictures-section.tsx';
import { PiecesSection } from './pieces/pieces-section.tsx';
import { PreparationSection } from './preparation/preparation-section.tsx';
import { createProductModel } from './product-model.ts';
import { ReadinessSection } from './readiness/readiness-section.tsx';
import { IncomingSection } from './revisions/incoming-section.tsx';
import { ModelSection } from './revisions/model-section.tsx';
import { hasUnsavedSchedules } from './schedule/schedule-model.ts';
import { ScheduleSection } from './schedule/schedule-section.tsx';
import { VariantStrip } from './schedule/variant-strip.tsx';
import { SlotTable } from './slots/slot-table.tsx';
import { TitleBlock } from './title-block.tsx';

/** The product page: one section for each thing a product has, from its readiness to its deliveries and revisions. */
export function ProductPage({ code }: { readonly code: string }) {
  const model = useMemo(() => createProductModel(code), [code]);
  useEffect(() => {
    void model.load();
    const ask = (event: BeforeUnloadEvent) => {
      if (model.schedule.changes.value.any || model.preparation.changed.value || hasUnsavedSchedules())
        event.preventDefault();
    };
    window.addEventListener('beforeunload', ask);
    return () => {
      window.removeEventListener('beforeunload', ask);
      model.close();
    };
  }, [model]);
  const product = model.product.value;
  return (
    <>
      <Heading text={product?.name ?? code} also={product?.code} />
      <Notice text={model.trouble.value} />
      {product && <TitleBlock model={model} />}
      <IncomingSection model={model} />
      {product?.model && (
        <>
          <ProductFigure model={model} />
          <ReadinessSection model={model} />
          <ContentsSection model={model} />
          <PiecesSection model={model} />
          <PreparationSection model={model} />
          <SlotTable model={model} />
          <ScheduleSection model={model} />
          <VariantStrip model={model} />
          <DeliverySection model={model} />
          <PicturesSection model={model} />
          <PictureSetsSection model={model} />
        </>
      )}
      {product && <ModelSection model={model} />}
    </>
  );
}
