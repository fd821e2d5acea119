import { TitleBlock } from '../bench/title-block.tsx';
import { ContentsSection } from '../contents/contents-section.tsx';
import { PreparationSection } from '../preparation/preparation-section.tsx';
import type { ProductModel } from '../product-model.ts';
import { ReadinessSection } from '../readiness/readiness-section.tsx';
import { ModelSection } from '../revisions/model-section.tsx';

/** The sheet of the model: its size, findings and repairs, and what it contains. */
export function ModelSheet({ model }: { readonly model: ProductModel }) {
  const hasModel = model.product.value?.model != null;
  return (
    <>
      <TitleBlock model={model} />
      {hasModel && (
        <>
          <ReadinessSection model={model} />
          <PreparationSection model={model} />
        </>
      )}
      <ModelSection model={model} />
      {hasModel && <ContentsSection model={model} />}
    </>
  );
}
