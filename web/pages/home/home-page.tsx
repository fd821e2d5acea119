import { useEffect, useMemo } from 'preact/hooks';
import { seg } from '../../api.ts';
import { count } from '../../format.ts';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { navigate } from '../../router.ts';
import { AddLine } from './add-line.tsx';
import { AddProduct } from './add-product.tsx';
import { createAddProductModel } from './add-product-model.ts';
import { createHomeModel, type LineGroup } from './home-model.ts';
import { OWN_FRAME, planScale } from './plan-scale.ts';
import { ProductFigure } from './product-figure.tsx';

/** The demo comes after the service listens: an empty store is asked again after this. */
const ASK_AGAIN_MS = 3000;

/** Lines and products. */
export function HomePage() {
  const model = useMemo(createHomeModel, []);
  const adding = useMemo(() => createAddProductModel((code) => navigate(`/products/${seg(code)}`)), []);
  useEffect(() => {
    void model.load();
    const timer = setInterval(() => {
      if (model.products.value.length === 0 || model.products.value.some((product) => !product.model))
        void model.load();
    }, ASK_AGAIN_MS);
    return () => clearInterval(timer);
  }, [model]);
  const loaded = model.lines.value !== null;
  return (
    <>
      <Heading text="Lines and products" />
      <Notice text={model.trouble.value}>
        <button type="button" onClick={model.load}>
          Try again
        </button>
      </Notice>
      {loaded && model.groups.value.length === 0 && (
        <p class="measure">Nothing is stored yet. Drop a product’s model below to begin.</p>
      )}
      {model.groups.value.map((group) => (
        <LineSheet key={group.line?.line ?? ''} group={group} />
      ))}
      {loaded && <AddProduct model={adding} lines={model.lines.value ?? []} />}
      {loaded && <AddLine taken={(model.lines.value ?? []).map(({ line }) => line)} />}
    </>
  );
}

function LineSheet({ group }: { group: LineGroup }) {
  const { line, products } = group;
  const sizes = products.map((product) => product.sheet ?? product.size);
  // one product of the wrong scale would make all others small
  const standings = line ? planScale(sizes) : sizes.map(() => OWN_FRAME);
  return (
    <section>
      <div class="section-head">
        <h2>{line ? <a href={`/lines/${seg(line.line)}`}>{line.name}</a> : 'Without a line'}</h2>
        <p class="small">
          {line && (
            <>
              <span class="code">{line.line}</span>, {count(line.range.length, 'finish', 'finishes')} in the range,{' '}
            </>
          )}
          {count(products.length, 'product')}
          {line && products.length > 1 && ', drawn at one scale'}
        </p>
      </div>
      {products.length === 0 ? (
        <p class="soft">No product yet.</p>
      ) : (
        <ul class="plates">
          {products.map((product, at) => (
            <ProductFigure key={product.code} product={product} size={sizes[at]!} standing={standings[at]!} />
          ))}
        </ul>
      )}
    </section>
  );
}
