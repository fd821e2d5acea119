import type { ComponentChildren } from 'preact';
import type { ProductAnswer } from '../../server/http/contracts/product.ts';
import { seg } from '../api.ts';
import { formatSize } from '../format.ts';
import { commonTexts } from '../texts/common.ts';
import { homeTexts as texts } from '../texts/home.ts';
import { units } from '../units.ts';

interface PlateProps {
  readonly product: ProductAnswer;
  /** The picture, in its frame. */
  readonly picture: ComponentChildren;
  /** What the number of variants is called. */
  readonly variantsName: string;
  /** Follows the size. */
  readonly sizeNote?: string | false;
  /** Facts between the code and the size. */
  readonly children?: ComponentChildren;
}

/** A product in a list: its picture and name, which open it, and its main facts. */
export function Plate({ product, picture, variantsName, sizeNote, children }: PlateProps) {
  const size = product.sheet ?? product.size;
  return (
    <li class="plate">
      <a href={`/products/${seg(product.code)}`}>
        {picture}
        <span class="name" dir="auto">
          {product.name}
        </span>
      </a>
      <dl class="facts">
        <dt>{commonTexts.code}</dt>
        <dd class="code">{product.code}</dd>
        {children}
        <dt>{commonTexts.size}</dt>
        <dd>
          {size ? formatSize(size, units.value) : commonTexts.notKnown}
          {size && !product.sheet && texts.measured}
          {sizeNote}
        </dd>
        <dt>{texts.verdict}</dt>
        <dd class={product.verdict === 'ready' ? '' : 'strong'}>
          {commonTexts.verdict(product.verdict, product.model !== null)}
        </dd>
        <dt>{variantsName}</dt>
        <dd>{texts.variantCount(product.variants)}</dd>
        <dt>{texts.delivery}</dt>
        <dd class={product.outdated ? 'strong' : ''}>
          {product.deliveries === 0 ? commonTexts.noneYet : texts.latestDelivery(product.deliveries, product.outdated)}
        </dd>
      </dl>
    </li>
  );
}
