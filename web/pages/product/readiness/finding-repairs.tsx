import type { Finding } from '../../../../server/core/product/finding.ts';
import type { Repair, RepairOf } from '../../../../server/core/repair/repair.ts';
import { formatSize } from '../../../format.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeRepair, describeUnit } from './describe-repair.ts';
import { RenameMisnamed } from './rename-misnamed.tsx';
import { chooseRepair, findStep, type Step, tickRepair, toKey } from './repair-chain.ts';
import { TakeVariants } from './take-variants.tsx';

interface FindingRepairsProps {
  readonly model: ProductModel;
  readonly finding: Finding;
}

/** What would settle a finding, to be ticked into the proposed repairs. */
export function FindingRepairs({ model, finding }: FindingRepairsProps) {
  if (finding.code === 'carries-variants') return <TakeVariants model={model} />;
  if (finding.code === 'name-says-another-finish') return <RenameMisnamed model={model} />;
  const offered = finding.repairs ?? [];
  if (offered.length === 0) return null;
  const scales = offered.filter((repair) => repair.repair === 'scale');
  const asks = scales.length > 1;
  return (
    <div class="under no-print">
      {asks && <UnitChoice model={model} scales={scales} name={`unit ${finding.where}`} />}
      {offered
        .filter((repair) => !asks || repair.repair !== 'scale')
        .map((repair) => (
          <RepairTick key={toKey(repair)} model={model} repair={repair} />
        ))}
    </div>
  );
}

function RepairTick({ model, repair }: { readonly model: ProductModel; readonly repair: Repair }) {
  const { repairs } = model;
  const steps = repairs.steps.value;
  const step = findStep(steps, repair);
  if (!step && repair.repair === 'bake-transforms' && steps.some(isMerging)) {
    return <p class="soft">Merging the loose parts, which is proposed, settles this too.</p>;
  }
  return (
    <label class="tick">
      <input
        type="checkbox"
        checked={step?.on ?? false}
        disabled={repairs.work.value !== null}
        onChange={(event) => {
          const on = event.currentTarget.checked;
          repairs.edit((before) => tickRepair(before, repair, on));
        }}
      />
      <span>
        <span class="soft">Do this:</span> {describeRepair(repair)}
      </span>
    </label>
  );
}

/** Merging bakes what it merges. */
const isMerging = ({ on, repair }: Step) => on && repair.repair === 'merge-parts';

interface UnitChoiceProps {
  readonly model: ProductModel;
  readonly scales: readonly RepairOf<'scale'>[];
  readonly name: string;
}

/** Several units would explain the size: nobody but a person can tell which it was. */
function UnitChoice({ model, scales, name }: UnitChoiceProps) {
  const { repairs } = model;
  const size = model.survey.value?.size;
  const chosen = scales.find((scale) => findStep(repairs.steps.value, scale)?.on);
  const choose = (scale: Repair | null) => repairs.edit((steps) => chooseRepair(steps, scales, scale));
  return (
    <fieldset class="choices">
      <legend>Which is it?</legend>
      {scales.map((scale) => (
        <label class="tick" key={scale.unit}>
          <input
            type="radio"
            name={name}
            checked={scale === chosen}
            disabled={repairs.work.value !== null}
            onChange={() => choose(scale)}
          />
          <span>
            {capital(describeUnit(scale.unit ?? ''))}
            {size && scale.factor !== undefined && (
              <span class="soft">, and measures {formatSize(times(size, scale.factor), units.value)}</span>
            )}
          </span>
        </label>
      ))}
      <label class="tick">
        <input
          type="radio"
          name={name}
          checked={chosen === undefined}
          disabled={repairs.work.value !== null}
          onChange={() => choose(null)}
        />
        Not known yet: leave its size
      </label>
    </fieldset>
  );
}

type Size = Parameters<typeof formatSize>[0];

const times = ({ widthMm, depthMm, heightMm }: Size, factor: number): Size => ({
  widthMm: widthMm * factor,
  depthMm: depthMm * factor,
  heightMm: heightMm * factor,
});

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
