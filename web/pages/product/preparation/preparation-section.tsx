import { useRef } from 'preact/hooks';
import { RefusedChange } from '../../../parts/conflict.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { revisionsTexts as texts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import { describeRepair } from '../readiness/describe-repair.ts';
import { ReportList } from '../readiness/repair-outcome.tsx';

/** The repairs that every newer export of the product goes through: reorder, remove or apply them again. */
export function PreparationSection({ model }: { readonly model: ProductModel }) {
  const { preparation } = model;
  const steps = preparation.draft.value;
  const busy = preparation.busy.value !== null;
  const unfit = preparation.reports.value.filter(({ outcome }) => outcome === 'unfit');
  if (steps.length === 0 && !preparation.changed.value && !preparation.differs.value) return null;
  return (
    <section>
      <div class="section-head">
        <h2>{texts.preparation}</h2>
        <p class="small">{steps.length === 0 ? texts.noSteps : texts.stepsIntro(steps.length)}</p>
      </div>
      <StepList model={model} />
      {unfit.length > 0 && (
        <>
          <h3 class="over-list">{texts.unfitSteps}</h3>
          <ReportList reports={unfit} />
        </>
      )}
      <div class="total no-print">
        <button type="button" disabled={busy || preparation.changed.value} onClick={() => void preparation.replay()}>
          {texts.replay}
        </button>
        <div class="actions saving">
          <p role="status">
            {preparation.busy.value === 'replay'
              ? texts.replaying
              : preparation.changed.value
                ? commonTexts.notSaved
                : preparation.differs.value && texts.differs}
          </p>
          {preparation.changed.value && (
            <>
              <button type="button" disabled={busy} onClick={preparation.discard}>
                {commonTexts.discard}
              </button>
              <button type="button" class="main" disabled={busy} onClick={() => void preparation.save()}>
                {texts.saveSteps}
              </button>
            </>
          )}
        </div>
      </div>
      <RefusedChange changes={preparation.changes} />
      {preparation.replayed.value && (
        <div class="arrives outcome" role="status">
          <h3>{texts.replayed(preparation.replayed.value.revision)}</h3>
          <ReportList reports={preparation.replayed.value.prepared} />
        </div>
      )}
    </section>
  );
}

type Action = 'up' | 'down' | 'remove';

/** The steps with their buttons. The focus follows a step that moves, so that it can move again. */
function StepList({ model }: { readonly model: ProductModel }) {
  const { preparation } = model;
  const place = useRef<HTMLOListElement>(null);
  const steps = preparation.draft.value;
  const busy = preparation.busy.value !== null;
  const press = (at: number, what: Action) => {
    if (what === 'remove') preparation.remove(at);
    else preparation.move(at, what === 'up' ? -1 : 1);
    const to = what === 'remove' ? Math.min(at, steps.length - 2) : what === 'up' ? at - 1 : at + 1;
    requestAnimationFrame(() => {
      const buttons = [...(place.current?.children[to]?.querySelectorAll('button') ?? [])];
      const wanted = buttons.find((button) => button.name === what && !button.disabled);
      (wanted ?? buttons.find((button) => !button.disabled))?.focus();
    });
  };
  return (
    <ol class="steps ordered-steps" ref={place}>
      {steps.map((step, at) => (
        <li key={at}>
          <span class="measure">{describeRepair(step)}</span>
          <span class="actions-inline no-print">
            <button type="button" name="up" disabled={busy || at === 0} onClick={() => press(at, 'up')}>
              {texts.up}
              <span class="unseen">{texts.ofStep(at + 1)}</span>
            </button>
            <button
              type="button"
              name="down"
              disabled={busy || at === steps.length - 1}
              onClick={() => press(at, 'down')}
            >
              {texts.down}
              <span class="unseen">{texts.ofStep(at + 1)}</span>
            </button>
            <button type="button" name="remove" disabled={busy} onClick={() => press(at, 'remove')}>
              {commonTexts.remove}
              <span class="unseen">{texts.ofStep(at + 1)}</span>
            </button>
          </span>
        </li>
      ))}
    </ol>
  );
}
