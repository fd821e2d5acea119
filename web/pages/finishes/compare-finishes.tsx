import { useSignal } from '@preact/signals';
import { deltaE2000 } from '../../../server/core/colour/lab.ts';
import { formatColour, formatGloss } from '../../../server/core/finish/format-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { seg } from '../../api.ts';
import { formatKey, formatLab } from '../../format.ts';
import { takeFocus } from '../../parts/form.tsx';
import { Chip, Picture } from '../../parts/picture.tsx';
import { Scroll } from '../../parts/scroll.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import type { FinishesModel } from './finishes-model.ts';

const texts = finishesTexts.compare;

/** Two to four ticked finishes beside each other. Below the list while they are chosen, above it while they are compared. */
export function CompareFinishes({ model }: { readonly model: FinishesModel }) {
  const open = useSignal(false);
  const byCode = new Map(model.finishes.value?.map((finish) => [finish.finish, finish]));
  const chosen = model.compared.value.flatMap((code) => byCode.get(code) ?? []);
  if (chosen.length === 0) return null;
  const end = () => {
    const [first] = model.compared.value;
    open.value = false;
    model.compared.value = [];
    if (first) model.focusFinish(first);
  };
  return (
    <section class={open.value ? 'comparison' : 'comparison chosen no-print'} aria-label={texts.heading}>
      {open.value && chosen.length > 1 ? (
        <>
          <div class="section-head">
            <h2 ref={takeFocus} tabIndex={-1}>
              {texts.heading}
            </h2>
            <button type="button" class="no-print" onClick={end}>
              {texts.end}
            </button>
          </div>
          <Comparison finishes={chosen} />
        </>
      ) : (
        <div class="actions">
          <p>
            {chosen.map(({ finish, resolved }) => (
              <Chip key={finish} hex={resolved.hex} />
            ))}{' '}
            {chosen.length === 1 ? texts.chooseAnother(chosen[0]!.name) : texts.chosen(chosen.length)}
          </p>
          <button
            type="button"
            class="main"
            disabled={chosen.length < 2}
            onClick={() => {
              open.value = true;
            }}
          >
            {texts.compare}
          </button>
          <button type="button" onClick={end}>
            {texts.clear}
          </button>
        </div>
      )}
    </section>
  );
}

/** The rows of the comparison, each with its value for a finish. */
const ROWS: readonly (readonly [label: string, value: (finish: FinishAnswer) => string])[] = [
  [commonTexts.code, ({ finish }) => finish],
  [commonTexts.family, ({ family }) => formatKey(family)],
  [texts.specified, ({ resolved }) => formatColour(resolved.specification)],
  [texts.lab, ({ resolved }) => formatLab(resolved.lab.value)],
  [texts.delivered, ({ resolved }) => resolved.delivered?.hex ?? resolved.hex],
  [texts.gloss, ({ resolved }) => formatGloss(resolved)],
  [texts.roughness, ({ resolved }) => resolved.roughness.toFixed(2)],
];

function Comparison({ finishes }: { readonly finishes: readonly FinishAnswer[] }) {
  return (
    <>
      {/* the chips touch, because the eye sees a difference best along a common edge */}
      <div class="draft-chips" aria-hidden="true">
        {finishes.map(({ finish, resolved }) => (
          <span key={finish} style={{ backgroundColor: resolved.delivered?.hex ?? resolved.hex }} />
        ))}
      </div>
      <Scroll label={texts.heading}>
        <table class="comparison-table">
          <thead>
            <tr>
              <td />
              {finishes.map(({ finish, name, revision }) => (
                <th scope="col" key={finish}>
                  <Picture
                    address={`/api/finishes/${seg(finish)}/swatch.webp?kind=sphere&size=256`}
                    alt={finishesTexts.sample.onSphere(name)}
                    version={revision}
                  />
                  <span class="strong" dir="auto">
                    {name}
                  </span>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {ROWS.map(([label, read]) => (
              <tr key={label}>
                <th scope="row">{label}</th>
                {finishes.map((finish) => (
                  <td key={finish.finish}>{read(finish)}</td>
                ))}
              </tr>
            ))}
            {finishes.map((from) => (
              <tr key={from.finish}>
                <th scope="row">
                  {texts.distanceFrom} <bdi>{from.name}</bdi>
                </th>
                {finishes.map((to) => (
                  <td key={to.finish}>{from === to ? '–' : getDistance(from, to).toFixed(1)}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </>
  );
}

/** CIEDE2000 between the specified colours, both under D65 for 2°. */
function getDistance(a: FinishAnswer, b: FinishAnswer): number {
  return deltaE2000(a.resolved.lab.value as [number, number, number], b.resolved.lab.value as [number, number, number]);
}
