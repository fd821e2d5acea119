import { DeliverySection } from '../deliveries/delivery-section.tsx';
import { SheetsSection } from '../deliveries/sheets-section.tsx';
import { PictureSetsSection } from '../pictures/picture-sets-section.tsx';
import { PicturesSection } from '../pictures/pictures-section.tsx';
import type { ProductModel } from '../product-model.ts';

/** The sheet of the deliveries, with picture sets and sheets to print. */
export function DeliverSheet({ model }: { readonly model: ProductModel }) {
  return (
    <>
      <DeliverySection model={model} />
      <PicturesSection model={model} />
      <PictureSetsSection model={model} />
      <SheetsSection model={model} />
    </>
  );
}
