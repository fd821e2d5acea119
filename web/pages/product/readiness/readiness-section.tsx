import { useSignal } from '@preact/signals';
import type { Finding } from '../../../../server/core/product/finding.ts';
import { AXES, type Axis } from '../../../../server/core/repair/repair.ts';
import { FindingList, sortFindings } from '../../../parts/finding-list.tsx';
import { Notice, Select } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { benchTexts } from '../../../texts/product-bench.ts';
import { readinessTexts as texts } from '../../../texts/product-readiness.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from './describe-repair.ts';
import { FindingRepairs } from './finding-repairs.tsx';
import { addTurn, assignSteps } from './repair-chain.ts';
import { RepairOutcome, ReportList } from './repair-outcome.tsx';
import { RepairStep } from './repair-step.tsx';

/** Whether the product is ready to deliver: the findings that ask for something, each with its repairs, then the notes. */
export function ReadinessSection({ model }: { readonly model: ProductModel }) {
  const findings = model.findings.value;
  const verdict = model.product.value?.verdict;
  const open = findings.filter(asksForSomething);
  const notes = findings.filter((finding) => !asksForSomething(finding));
  const { remedies, further } = assignSteps(sortFindings(open), model.repairs.steps.value);
  return (
    <section>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        {verdict && (
          <p>
            <span class="strong verdict">{commonTexts.verdict(verdict)}</span>{' '}
            <span class="small">{describeFindings(findings)}</span>
          </p>
        )}
      </div>
      <RepairsMade model={model} />
      {open.length > 0 && (
        <FindingList
          findings={open}
          under={(finding) => <FindingRepairs model={model} finding={finding} remedies={remedies.get(finding)!} />}
        />
      )}
      {further.length > 0 && (
        <div class="repairs no-print">
          <h3>{texts.otherRepairs}</h3>
          {further.map((step) => (
            <RepairStep key={step.key} model={model} step={step} />
          ))}
        </div>
      )}
      <RepairBar model={model} />
      {notes.length > 0 && (
        <details class="fold">
          <summary>
            <h3>{texts.notes(notes.length)}</h3>
          </summary>
          <FindingList findings={notes} />
        </details>
      )}
      {model.survey.value && (
        <details class="fold no-print">
          <summary>
            <h3>{texts.orientation}</h3>
          </summary>
          <TurnControls model={model} />
        </details>
      )}
    </section>
  );
}

/** Notes that offer nothing to do are folded. */
const asksForSomething = ({ code, severity, repairs }: Finding) =>
  severity !== 'note' || (repairs?.length ?? 0) > 0 || code === 'carries-variants';

/** The preview of all ticked repairs, and applying them. */
function RepairBar({ model }: { readonly model: ProductModel }) {
  const { repairs } = model;
  const chosen = repairs.chosen.value;
  const preview = repairs.preview.value;
  const work = repairs.work.value;
  const problem = repairs.problem.value;
  const unfit = preview?.reports.some(({ outcome }) => outcome === 'unfit') ?? false;
  return (
    <>
      {repairs.steps.value.length > 0 && (
        <div class="total no-print">
          <p class="small soft whole">{texts.repairsIntro}</p>
          <div class="actions">
            <button
              type="button"
              disabled={work !== null || chosen.length === 0}
              onClick={() => void repairs.loadPreview()}
            >
              {texts.preview}
            </button>
            <button
              type="button"
              class="main"
              disabled={work !== null || chosen.length === 0 || unfit}
              onClick={() => void repairs.apply()}
            >
              {texts.apply(chosen.length)}
            </button>
          </div>
          <p role="status" class="soft">
            {work === 'preview' && texts.previewing}
            {work === 'apply' && texts.applying}
            {work === null && chosen.length === 0 && texts.nothingTicked}
            {work === null && unfit && texts.unfit}
          </p>
        </div>
      )}
      <Notice text={problem && problem.work !== 'variants' ? problem.text : null} />
      {preview && <RepairOutcome answer={preview} before={model} />}
    </>
  );
}

/** The repairs that were just made, and the way back. */
function RepairsMade({ model }: { readonly model: ProductModel }) {
  const { history } = model;
  const made = model.repairs.made.value;
  if (!made) return null;
  const step = benchTexts.steps.repairs(made.revision ?? 0);
  return (
    <div class="arrives outcome" role="status">
      <h3>{texts.applied(made.revision ?? 0, made.reports.length)}</h3>
      <ReportList reports={made.reports} />
      {history.nextUndo.value === step && (
        <div class="actions no-print">
          <button type="button" disabled={history.busy.value} onClick={() => void history.undo()}>
            {texts.undoRepairs(made.reports.length)}
          </button>
        </div>
      )}
    </div>
  );
}

const QUARTER_TURNS: readonly (readonly [text: string, axis: Axis, degrees: number])[] = [
  [texts.turns.clockwise, 'y', -90],
  [texts.turns.counterClockwise, 'y', 90],
  [texts.turns.forward, 'x', 90],
  [texts.turns.backward, 'x', -90],
];

/** Turns the product until the front view shows its front. Each turn joins the proposed repairs. */
function TurnControls({ model }: { readonly model: ProductModel }) {
  const { repairs } = model;
  const axis = useSignal<Axis>('y');
  const degrees = useSignal('');
  const busy = repairs.work.value !== null;
  const angle = Number(degrees.value);
  const isAngle = degrees.value !== '' && Number.isFinite(angle) && Math.abs(angle) <= 360;
  const turn = (about: Axis, by: number) => repairs.edit((steps) => addTurn(steps, about, by));
  return (
    <div class="repairs">
      <p class="small soft measure">{texts.orientationIntro}</p>
      <div class="actions">
        {QUARTER_TURNS.map(([text, about, by]) => (
          <button key={text} type="button" disabled={busy} onClick={() => turn(about, by)}>
            {text}
          </button>
        ))}
      </div>
      <form
        class="actions turn"
        onSubmit={(event) => {
          event.preventDefault();
          if (isAngle) turn(axis.value, angle);
        }}
      >
        <label>
          {texts.degrees}
          <input
            type="number"
            min={-360}
            max={360}
            step="any"
            value={degrees.value}
            disabled={busy}
            onInput={(event) => {
              degrees.value = event.currentTarget.value;
            }}
          />
        </label>
        <Select
          label={texts.axis}
          value={axis.value}
          disabled={busy}
          options={AXES.map((one) => [one, texts.axes[one]] as const)}
          onPick={(picked) => {
            axis.value = picked;
          }}
        />
        <button type="submit" disabled={busy || !isAngle}>
          {texts.turn}
        </button>
      </form>
    </div>
  );
}
