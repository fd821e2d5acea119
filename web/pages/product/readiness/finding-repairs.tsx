import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import type { Finding } from '../../../../server/core/product/finding.ts';
import { type Repair, type RepairOf, scaleSize } from '../../../../server/core/repair/repair.ts';
import { makePattern } from '../../../../server/core/schedule/name-rows.ts';
import { capitalise } from '../../../../server/core/texts/format-text.ts';
import { formatSize } from '../../../format.ts';
import { Field, Notice, Question } from '../../../parts/form.tsx';
import { repairTexts, readinessTexts as texts } from '../../../texts/product-readiness.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeRepair } from './describe-repair.ts';
import { chooseRepair, findStep, type Remedies, type Step, tickRepair, toKey } from './repair-chain.ts';
import { RepairStep } from './repair-step.tsx';

interface FindingRepairsProps {
  readonly model: ProductModel;
  readonly finding: Finding;
  readonly remedies: Remedies;
}

/** The repairs that resolve a finding, with their settings and what a preview says of them. */
export function FindingRepairs({ model, finding, remedies }: FindingRepairsProps) {
  if (finding.code === 'carries-variants') return <ImportVariants model={model} />;
  if (finding.code === 'name-says-another-finish') return <RenameVariants model={model} />;
  const { steps, offers, settled } = remedies;
  const offered = finding.repairs ?? [];
  if (offered.length === 0) return null;
  const scales = offered.filter((repair) => repair.repair === 'scale');
  const separations = offered.filter((repair) => repair.repair === 'separate-pieces');
  /** Kinds of repair of which only one can be chosen. */
  const exclusive: readonly string[] = [
    ...(scales.length > 1 ? ['scale'] : []),
    ...(separations.length > 1 ? ['separate-pieces'] : []),
  ];
  return (
    <div class="under no-print">
      {scales.length > 1 && <UnitChoice model={model} scales={scales} group={`unit-${finding.where}`} />}
      {separations.length > 1 && (
        <OneOf
          model={model}
          repairs={separations}
          group={`separation-${finding.where}`}
          legend={texts.separationQuestion}
          none={texts.noSeparation}
        >
          {({ groups }) => listSlots(groups.map(({ name }) => name))}
        </OneOf>
      )}
      {steps
        .filter(({ on, repair }) => on || !exclusive.includes(repair.repair))
        .map((step) => (
          <RepairStep key={step.key} model={model} step={step} />
        ))}
      {offers
        .filter(({ repair }) => !exclusive.includes(repair))
        .map((repair) => (
          <RepairOffer key={toKey(repair)} model={model} repair={repair} />
        ))}
      {settled && <p class="soft">{texts.settledAbove}</p>}
    </div>
  );
}

/** The names of the slots, to compare ways of separating. */
function listSlots(names: readonly string[]): string {
  return texts.slotList(names.length, names.slice(0, NAMED_SLOTS), names.length - NAMED_SLOTS);
}

const NAMED_SLOTS = 6;

/** A repair that is not in the chain yet. Ticking it adds it. */
function RepairOffer({ model, repair }: { readonly model: ProductModel; readonly repair: Repair }) {
  const { repairs } = model;
  if (repair.repair === 'bake-transforms' && repairs.steps.value.some(isMerging)) {
    return <p class="soft">{texts.settledByMerge}</p>;
  }
  return (
    <label class="tick">
      <input
        type="checkbox"
        checked={false}
        disabled={repairs.work.value !== null}
        onChange={() => repairs.edit((before) => tickRepair(before, repair, true))}
      />
      <span class="soft">
        {texts.offer} {describeRepair(repair)}
      </span>
    </label>
  );
}

/** Merging also bakes the transforms of the merged parts. */
const isMerging = ({ on, repair }: Step) => on && repair.repair === 'merge-parts';

interface UnitChoiceProps {
  readonly model: ProductModel;
  readonly scales: readonly RepairOf<'scale'>[];
  /** Name of the group of radio buttons. */
  readonly group: string;
}

/** Several units would explain the size, so a person has to choose. */
function UnitChoice({ model, scales, group }: UnitChoiceProps) {
  const size = model.survey.value?.size;
  return (
    <OneOf model={model} repairs={scales} group={group} legend={texts.unitQuestion} none={texts.unitUnknown}>
      {({ unit, factor }) => (
        <>
          {capitalise(repairTexts.unit(unit ?? ''))}
          {size && factor !== undefined && (
            <span class="soft">{texts.resultingSize(formatSize(scaleSize(size, factor), units.value))}</span>
          )}
        </>
      )}
    </OneOf>
  );
}

interface OneOfProps<R extends Repair> {
  readonly model: ProductModel;
  readonly repairs: readonly R[];
  /** Name of the group of radio buttons. */
  readonly group: string;
  readonly legend: string;
  /** Label of the choice of none. */
  readonly none: string;
  readonly children: (repair: R) => ComponentChildren;
}

/** A choice between repairs that exclude each other, or none. */
function OneOf<R extends Repair>({ model, repairs: candidates, group, legend, none, children }: OneOfProps<R>) {
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
            name={group}
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
          name={group}
          checked={chosen === undefined}
          disabled={repairs.work.value !== null}
          onChange={() => choose(null)}
        />
        {none}
      </label>
    </fieldset>
  );
}

/** Imports the variants in the model as finishes and a schedule. It asks first, because it cannot be undone in one step. */
function ImportVariants({ model }: { readonly model: ProductModel }) {
  const asking = useSignal(false);
  const { repairs, schedule } = model;
  const rows = schedule.saved.value.rows.length;
  const busy = repairs.work.value !== null;
  const importVariants = async (replace: boolean) => {
    await repairs.importVariants(replace);
    asking.value = false;
  };
  const imported = repairs.imported.value;
  const problem = repairs.problem.value;
  return (
    <div class="under no-print">
      <p role="status">{imported && texts.imported(imported.variants.length, imported.finishes.length)}</p>
      <Notice text={problem?.work === 'variants' ? problem.text : null} />
      {asking.value ? (
        <Question
          text={texts.importQuestion(rows)}
          confirm={rows > 0 ? texts.replaceSchedule : texts.importVariants}
          disabled={busy}
          onConfirm={() => void importVariants(rows > 0)}
          onCancel={() => {
            asking.value = false;
          }}
        />
      ) : (
        <button
          type="button"
          disabled={busy}
          onClick={() => {
            asking.value = true;
          }}
        >
          {repairs.work.value === 'variants' ? texts.importing : texts.importVariants}
        </button>
      )}
    </div>
  );
}

/** Renames the variants whose names mention a finish they do not have, by a template. */
function RenameVariants({ model }: { readonly model: ProductModel }) {
  const { schedule } = model;
  const template = useSignal<string | null>(null);
  const name = template.value ?? makePattern(model.columns.value.map(({ slot }) => slot));
  const unsaved = schedule.changes.value.any;
  return (
    <div class="under no-print measure">
      <Field name={texts.template}>
        <input
          value={name}
          onInput={(event) => {
            template.value = event.currentTarget.value;
          }}
        />
      </Field>
      {unsaved && <Notice text={texts.saveFirst} />}
      <button
        type="button"
        disabled={unsaved || schedule.busy.value || name.trim() === ''}
        onClick={() => void schedule.renameMisnamed(name)}
      >
        {texts.renameVariants}
      </button>
    </div>
  );
}
