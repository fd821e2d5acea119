import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import { readCount } from '../../../format.ts';
import { commonTexts } from '../../../texts/common.ts';
import { lineTexts } from '../../../texts/line.ts';
import type { LineModel } from '../line-model.ts';
import type { Effect } from './effects-model.ts';

const texts = lineTexts.effects;

/** What options and rules allow for each product: the number of combinations, and the finishes that fit none. */
export function EffectsTable({ model }: { readonly model: LineModel }) {
  const effects = model.effects.effects.value;
  if (effects.length === 0) return null;
  return (
    <div class="scroll">
      <table class="effects">
        <thead>
          <tr>
            <th scope="col">{commonTexts.product}</th>
            <th scope="col">{texts.combinations}</th>
            <th scope="col">{texts.invalidVariants}</th>
            <th scope="col">{texts.unusable}</th>
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
          {trouble ?? texts.counting}
        </td>
      ) : (
        <>
          <td>
            {commonTexts.combinations(readCount(counted))}
            <span class="effects-of small soft">
              {texts.withoutRules(formatNumber(BigInt(effects.unruled)))}
              {before && texts.before(commonTexts.combinations(readCount(before)))}
            </span>
          </td>
          <td>{texts.breaking(effects.breaking, product.variants)}</td>
          <td>
            {effects.none ??
              (effects.impossible.length === 0 ? (
                texts.none
              ) : (
                <ul class="reasons">
                  {effects.impossible.map(({ slot, label, finish, because }) => (
                    <li key={`${slot} ${finish}`}>
                      <span class="strong">{texts.choice(label, finish)}</span> {because}
                    </li>
                  ))}
                  {effects.more > 0 && <li>{texts.more(effects.more)}</li>}
                </ul>
              ))}
          </td>
        </>
      )}
    </tr>
  );
}
