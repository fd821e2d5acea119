import { count, formatNumber } from '../../../format.ts';
import { readCount, sayCount } from '../../product/choices/say-count.ts';
import type { LineModel } from '../line-model.ts';
import type { Effect } from './effects-model.ts';

/** What options and rules leave each product: how many combinations, and the choices that nothing is left for. */
export function EffectsTable({ model }: { readonly model: LineModel }) {
  const effects = model.effects.effects.value;
  if (effects.length === 0) return null;
  return (
    <div class="scroll">
      <table class="effects">
        <thead>
          <tr>
            <th scope="col">Product</th>
            <th scope="col">Valid combinations</th>
            <th scope="col">Variants that break a rule</th>
            <th scope="col">Nothing is left for</th>
          </tr>
        </thead>
        <tbody>
          {effects.map((effect) => (
            <EffectRow key={effect.product.code} effect={effect} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

function EffectRow({ effect: { product, counted, before, trouble } }: { readonly effect: Effect }) {
  const effects = counted?.effects;
  return (
    <tr>
      <th scope="row">
        {product.name} <small class="soft code">{product.code}</small>
      </th>
      {!counted || !effects ? (
        <td colSpan={3} class="soft">
          {trouble ?? 'Being counted.'}
        </td>
      ) : (
        <>
          <td>
            {sayCount(readCount(counted))}
            <span class="effects-of small soft">
              of {formatNumber(BigInt(effects.unruled))} without rules
              {before && `; before the last change ${sayCount(readCount(before))}`}
            </span>
          </td>
          <td>{effects.breaking === 0 ? 'none' : `${formatNumber(effects.breaking)} of ${product.variants}`}</td>
          <td>
            {effects.none ??
              (effects.impossible.length === 0 ? (
                'nothing'
              ) : (
                <ul class="reasons">
                  {effects.impossible.map(({ slot, label, finish, because }) => (
                    <li key={`${slot} ${finish}`}>
                      <span class="strong">
                        {label} {finish}:
                      </span>{' '}
                      {because}
                    </li>
                  ))}
                  {effects.more > 0 && <li>and {count(effects.more, 'more finish', 'more finishes')}</li>}
                </ul>
              ))}
          </td>
        </>
      )}
    </tr>
  );
}
