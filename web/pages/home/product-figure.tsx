import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import { seg } from '../../api.ts';
import { formatSize, type Size, units } from '../../format.ts';
import { Picture } from '../../parts/picture.tsx';
import { commonTexts } from '../../texts/common.ts';
import { homeTexts } from '../../texts/home.ts';
import type { Placement } from './plan-scale.ts';

interface ProductFigureProps {
  readonly product: ProductAnswer;
  readonly size: Size | null;
  readonly placement: Placement;
}

/** A product on the home page: its picture on the line's common floor, and its main facts. */
export function ProductFigure({ product, size, placement }: ProductFigureProps) {
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
