import { useEffect, useMemo } from 'preact/hooks';
import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import { seg } from '../../api.ts';
import { formatSize, type Size } from '../../format.ts';
import { Notice } from '../../parts/form.tsx';
import { Picture } from '../../parts/picture.tsx';
import { Heading } from '../../parts/shell.tsx';
import { navigate } from '../../router.ts';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts } from '../../texts/home.ts';
import { units } from '../../units.ts';
import { AddLine, AddProduct } from './add-forms.tsx';
import { createAddProductModel } from './add-product-model.ts';
import { createHomeModel, type LineGroup } from './home-model.ts';
import { OWN_FRAME, type Placement, planScale } from './plan-scale.ts';

/** The demo arrives after the service has started, so an empty or incomplete list is loaded again. */
const RELOAD_MS = 3000;

/** The home page: lines and products. */
export function HomePage() {
  const model = useMemo(createHomeModel, []);
  const adding = useMemo(() => createAddProductModel((code) => navigate(`/products/${seg(code)}`)), []);
  useEffect(() => {
    void model.load();
    const timer = setInterval(() => {
      if (model.products.value.length === 0 || model.products.value.some((product) => !product.model))
        void model.load();
    }, RELOAD_MS);
    return () => clearInterval(timer);
  }, [model]);
  const loaded = model.lines.value !== null;
  return (
    <>
      <Heading text={homeTexts.heading} />
      <Notice text={model.problem.value}>
        <button type="button" onClick={model.load}>
          {commonTexts.tryAgain}
        </button>
      </Notice>
      {loaded && model.groups.value.length === 0 && <p class="measure">{homeTexts.empty}</p>}
      {model.groups.value.map((group) => (
        <LineSection key={group.line?.line ?? ''} group={group} />
      ))}
      {loaded && <AddProduct model={adding} lines={model.lines.value ?? []} />}
      {loaded && <AddLine existing={(model.lines.value ?? []).map(({ line }) => line)} />}
    </>
  );
}

function LineSection({ group }: { group: LineGroup }) {
  const { line, products } = group;
  const sizes = products.map((product) => product.sheet ?? product.size);
  // without a line, products do not share a scale: one that is wrong would make all others small
  const placements = line ? planScale(sizes) : sizes.map(() => OWN_FRAME);
  return (
    <section>
      <div class="section-head">
        <h2>{line ? <a href={`/lines/${seg(line.line)}`}>{line.name}</a> : homeTexts.noLine}</h2>
        <p class="small">
          {line && (
            <>
              <span class="code">{line.line}</span>, {homeTexts.lineFigures(line.range.length)}
            </>
          )}
          {homeTexts.productFigures(products.length, line !== null && products.length > 1)}
        </p>
      </div>
      {products.length === 0 ? (
        <p class="soft">{homeTexts.noProducts}</p>
      ) : (
        <ul class="plates">
          {products.map((product, at) => (
            <ProductFigure key={product.code} product={product} size={sizes[at]!} placement={placements[at]!} />
          ))}
        </ul>
      )}
    </section>
  );
}

interface ProductFigureProps {
  readonly product: ProductAnswer;
  readonly size: Size | null;
  readonly placement: Placement;
}

/** A product on the home page: its picture on the line's common floor, and its main facts. */
function ProductFigure({ product, size, placement }: ProductFigureProps) {
  const verdict = commonTexts.verdict(product.verdict, product.model !== null);
  return (
    <li class="plate">
      <a href={`/products/${seg(product.code)}`}>
        <span class="stand">
          <span
            class="standing"
            style={{ width: `${placement.share * 100}%`, marginBottom: `${-placement.foot * placement.share * 100}%` }}
          >
            {product.picture && (
              <Picture
                address={product.picture}
                alt={homeTexts.pictureAlt(product.name)}
                version={`${product.model?.revision} ${product.defaultVariant}`}
              />
            )}
          </span>
        </span>
        <span class="name">{product.name}</span>
      </a>
      <dl class="facts">
        <dt>{commonTexts.code}</dt>
        <dd class="code">{product.code}</dd>
        <dt>{commonTexts.size}</dt>
        <dd>
          {size ? formatSize(size, units.value) : commonTexts.notKnown}
          {size && !product.sheet && homeTexts.measured}
          {placement.enlarged > 1.02 && homeTexts.enlarged(placement.enlarged)}
        </dd>
        <dt>{homeTexts.verdict}</dt>
        <dd class={product.verdict === 'ready' ? '' : 'strong'}>{verdict}</dd>
        <dt>{homeTexts.schedule}</dt>
        <dd>{homeTexts.variantCount(product.variants)}</dd>
        <dt>{homeTexts.delivery}</dt>
        <dd>{product.deliveries === 0 ? commonTexts.noneYet : homeTexts.latestDelivery(product.deliveries)}</dd>
      </dl>
    </li>
  );
}
