import { useSignal } from '@preact/signals';
import { AXES, type Axis } from '../../../../server/core/repair/repair.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { Select } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { readinessTexts as texts } from '../../../texts/product-readiness.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from './describe-repair.ts';
import { FindingRepairs } from './finding-repairs.tsx';
import { ProposedRepairs } from './proposed-repairs.tsx';
import { addTurn } from './repair-chain.ts';

/** Whether the product is ready to deliver: the verdict, the findings, and repairs that resolve them. */
export function ReadinessSection({ model }: { readonly model: ProductModel }) {
  const findings = model.findings.value;
  const verdict = model.product.value?.verdict;
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
      <ProposedRepairs model={model} />
      {model.survey.value && <TurnControls model={model} />}
      {findings.length > 0 && (
        <>
          <h3 class="over-list">{texts.findings}</h3>
          <FindingList findings={findings} under={(finding) => <FindingRepairs model={model} finding={finding} />} />
        </>
      )}
    </section>
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
    <div class="repairs no-print">
      <h3>{texts.orientation}</h3>
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
