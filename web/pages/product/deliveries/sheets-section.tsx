import { seg } from '../../../api.ts';
import { SheetLinks } from '../../../parts/sheet-links.tsx';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';

const texts = productTexts.sheets;

/** Sheets of the saved schedule to print, and its catalogue data. */
export function SheetsSection({ model }: { readonly model: ProductModel }) {
  if (model.schedule.saved.value.rows.length === 0) return null;
  const product = `/api/products/${seg(model.code)}`;
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.intro}</p>
      </div>
      <SheetLinks label={texts.schedule} address={`${product}/schedule.pdf`} />
      <SheetLinks label={texts.compact} address={`${product}/schedule.pdf`} query="form=compact" />
      <SheetLinks label={texts.checkSet} address={`${product}/schedule/check-set.pdf`} />
      <p class="small">
        {texts.catalogue}
        <a href={`${product}/catalogue.zip?size=1024`} download={`${model.code}.zip`}>
          {texts.catalogueLink}
        </a>
        {texts.catalogueNote}
      </p>
    </section>
  );
}
