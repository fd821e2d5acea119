import { useRef } from 'preact/hooks';
import { count } from '../../../format.ts';
import { Notice } from '../../../parts/notice.tsx';
import type { ProductModel } from '../product-model.ts';
import { describeRepair } from '../readiness/describe-repair.ts';
import { ReportList } from '../readiness/report-list.tsx';

/** The repairs every newer export of the product goes through, to be put in order, cut down and made again. */
export function PreparationSection({ model }: { readonly model: ProductModel }) {
  const { preparation } = model;
  const steps = preparation.draft.value;
  const busy = preparation.busy.value !== null;
  const unfit = preparation.reports.value.filter(({ outcome }) => outcome === 'unfit');
  if (steps.length === 0 && !preparation.changed.value && !preparation.differs.value) return null;
  return (
    <section>
      <div class="section-head">
        <h2>Preparation</h2>
        <p class="small">
          {steps.length === 0
            ? 'No steps: a newer export is taken as it comes.'
            : `${count(steps.length, 'step')}, made in this order on every newer export of this product.`}
        </p>
      </div>
      <StepList model={model} />
      {unfit.length > 0 && (
        <>
          <h3 class="over-list">Steps that did not fit</h3>
          <ReportList reports={unfit} />
        </>
      )}
      <div class="total no-print">
        <button type="button" disabled={busy || preparation.changed.value} onClick={() => void preparation.replay()}>
          Make it again on the model as received
        </button>
        <div class="actions saving">
          <p role="status">
            {preparation.busy.value === 'replay'
              ? 'Making the steps again and measuring what comes of it. A large model takes a minute.'
              : preparation.changed.value
                ? 'Not saved yet.'
                : preparation.differs.value && 'The model was made by other steps than these.'}
          </p>
          {preparation.changed.value && (
            <>
              <button type="button" disabled={busy} onClick={preparation.discard}>
                Take the edits back
              </button>
              <button type="button" class="main" disabled={busy} onClick={() => void preparation.save()}>
                Save the steps
              </button>
            </>
          )}
        </div>
      </div>
      <Notice text={preparation.trouble.value} />
      {preparation.replayed.value && (
        <div class="arrives outcome" role="status">
          <h3>Revision {preparation.replayed.value.revision}, made again from what was received</h3>
          <ReportList reports={preparation.replayed.value.prepared} />
        </div>
      )}
    </section>
  );
}

type Press = 'up' | 'down' | 'remove';

/** The steps with their buttons. The focus follows the step that is moved, so that it can be moved on. */
function StepList({ model }: { readonly model: ProductModel }) {
  const { preparation } = model;
  const place = useRef<HTMLOListElement>(null);
  const steps = preparation.draft.value;
  const busy = preparation.busy.value !== null;
  const press = (at: number, what: Press) => {
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
              Up<span class="unseen">: step {at + 1}</span>
            </button>
            <button
              type="button"
              name="down"
              disabled={busy || at === steps.length - 1}
              onClick={() => press(at, 'down')}
            >
              Down<span class="unseen">: step {at + 1}</span>
            </button>
            <button type="button" name="remove" disabled={busy} onClick={() => press(at, 'remove')}>
              Remove<span class="unseen"> step {at + 1}</span>
            </button>
          </span>
        </li>
      ))}
    </ol>
  );
}
