import { useEffect, useMemo } from 'preact/hooks';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { ContentsSection } from './contents/contents-section.tsx';
import { DeliverySection } from './delivery-section.tsx';
import { SetsSection } from './picture-sets/sets-section.tsx';
import { PicturesSection } from './pictures-section.tsx';
import { PiecesSection } from './pieces/pieces-section.tsx';
import { PreparationSection } from './preparation/preparation-section.tsx';
import { ProductFigure } from './product-figure.tsx';
import { createProductModel } from './product-model.ts';
import { ReadinessSection } from './readiness/readiness-section.tsx';
import { IncomingSection } from './revisions/incoming-section.tsx';
import { ModelSection } from './revisions/model-section.tsx';
import { hasLeftOver } from './schedule-model.ts';
import { ScheduleSection } from './schedule-section.tsx';
import { SlotTable } from './slot-table.tsx';
import { TitleBlock } from './title-block.tsx';
import { VariantStrip } from './variant-strip.tsx';

/**
 * A product on one sheet: what it is, how it looks, what was found and what would settle it, its slots, its schedule,
 * what was made of it, and the revisions of its model.
 */
export function ProductPage({ code }: { readonly code: string }) {
  const model = useMemo(() => createProductModel(code), [code]);
  useEffect(() => {
    void model.load();
    const ask = (event: BeforeUnloadEvent) => {
      if (model.schedule.changes.value.any || model.preparation.changed.value || hasLeftOver()) event.preventDefault();
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
          <SetsSection model={model} />
        </>
      )}
      {product && <ModelSection model={model} />}
    </>
  );
}
