import type { ComponentChildren } from 'preact';
import type { Finding } from '../../../../server/core/product/finding.ts';
import type { Repair, RepairOf } from '../../../../server/core/repair/repair.ts';
import { capitalise } from '../../../../server/core/texts/format-text.ts';
import { count, formatSize } from '../../../format.ts';
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
  const separations = offered.filter((repair) => repair.repair === 'separate-pieces');
  const chosen: readonly Repair[] = [
    ...(scales.length > 1 ? scales : []),
    ...(separations.length > 1 ? separations : []),
  ];
  return (
    <div class="under no-print">
      {scales.length > 1 && <UnitChoice model={model} scales={scales} name={`unit ${finding.where}`} />}
      {separations.length > 1 && (
        <OneOf
          model={model}
          repairs={separations}
          name={`separation ${finding.where}`}
          legend="Which parts are to change by themselves?"
          none="None: leave it in one"
        >
          {({ groups }) => listSlots(groups.map(({ name }) => name))}
        </OneOf>
      )}
      {offered
        .filter((repair) => !chosen.includes(repair))
        .map((repair) => (
          <RepairTick key={toKey(repair)} model={model} repair={repair} />
        ))}
    </div>
  );
}

/** The names of slots, so that ways of separating can be told apart. */
function listSlots(names: readonly string[]): string {
  const shown = names.slice(0, NAMED_SLOTS).join(', ');
  const rest = names.length - NAMED_SLOTS;
  return `${count(names.length, 'slot')}: ${shown}${rest > 0 ? ` and ${rest} more` : ''}`;
}

const NAMED_SLOTS = 6;

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
  const size = model.survey.value?.size;
  return (
    <OneOf model={model} repairs={scales} name={name} legend="Which is it?" none="Not known yet: leave its size">
      {({ unit, factor }) => (
        <>
          {capitalise(describeUnit(unit ?? ''))}
          {size && factor !== undefined && (
            <span class="soft">, and measures {formatSize(times(size, factor), units.value)}</span>
          )}
        </>
      )}
    </OneOf>
  );
}

interface OneOfProps<R extends Repair> {
  readonly model: ProductModel;
  readonly repairs: readonly R[];
  readonly name: string;
  readonly legend: string;
  /** What choosing none of them is called. */
  readonly none: string;
  readonly children: (repair: R) => ComponentChildren;
}

/** Repairs that exclude each other: one of them, or none. */
function OneOf<R extends Repair>({ model, repairs: candidates, name, legend, none, children }: OneOfProps<R>) {
  const { repairs } = model;
  const chosen = candidates.find((repair) => findStep(repairs.steps.value, repair)?.on);
  const choose = (repair: Repair | null) => repairs.edit((steps) => chooseRepair(steps, candidates, repair));
  return (
    <fieldset class="choices">
      <legend>{legend}</legend>
      {candidates.map((repair) => (
        <label class="tick" key={toKey(repair)}>
          <input
            type="radio"
            name={name}
            checked={repair === chosen}
            disabled={repairs.work.value !== null}
            onChange={() => choose(repair)}
          />
          <span>{children(repair)}</span>
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
        {none}
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
