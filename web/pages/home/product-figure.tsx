import type { ProductAnswer } from '../../../server/http/contracts/product.ts';
import { seg } from '../../api.ts';
import { count, formatSize, type Size } from '../../format.ts';
import { Picture } from '../../parts/picture.tsx';
import { commonTexts } from '../../texts/common.ts';
import { units } from '../../units.ts';
import type { Standing } from './plan-scale.ts';

interface ProductFigureProps {
  readonly product: ProductAnswer;
  readonly size: Size | null;
  readonly standing: Standing;
}

/** A product on its line's sheet: the picture on the common floor, and what there is to know under it. */
export function ProductFigure({ product, size, standing }: ProductFigureProps) {
  const verdict = commonTexts.verdict(product.verdict, product.model !== null);
  return (
    <li class="plate">
      <a href={`/products/${seg(product.code)}`}>
        <span class="stand">
          <span
            class="standing"
            style={{ width: `${standing.share * 100}%`, marginBottom: `${-standing.foot * standing.share * 100}%` }}
          >
            {product.picture && (
              <Picture
                address={product.picture}
                alt={`${product.name}, seen from the front and a little above`}
                version={`${product.model?.revision} ${product.defaultVariant}`}
              />
            )}
          </span>
        </span>
        <span class="name">{product.name}</span>
      </a>
      <dl class="facts">
        <dt>Code</dt>
        <dd class="code">{product.code}</dd>
        <dt>Size</dt>
        <dd>
          {size ? formatSize(size, units.value) : 'not known'}
          {size && !product.sheet && ', measured'}
          {standing.enlarged > 1.02 && `, enlarged ${standing.enlarged.toFixed(1)} times`}
        </dd>
        <dt>Verdict</dt>
        <dd class={product.verdict === 'ready' ? '' : 'strong'}>{verdict}</dd>
        <dt>Schedule</dt>
        <dd>{product.variants === 0 ? 'no variants yet' : count(product.variants, 'variant')}</dd>
        <dt>Delivery</dt>
        <dd>{product.deliveries === 0 ? 'none yet' : `no. ${product.deliveries}`}</dd>
      </dl>
    </li>
  );
}
