import { count } from '../../../format.ts';
import { Notice } from '../../../parts/notice.tsx';
import type { ProductModel } from '../product-model.ts';
import { RepairOutcome } from './repair-outcome.tsx';
import { RepairStep } from './repair-step.tsx';
import { ReportList } from './report-list.tsx';

/** The proposed repairs as one chain: what each would do, and making them. */
export function ProposedRepairs({ model }: { readonly model: ProductModel }) {
  const { repairs } = model;
  const steps = repairs.steps.value;
  const chosen = repairs.chosen.value;
  const preview = repairs.preview.value;
  const made = repairs.made.value;
  const work = repairs.work.value;
  const trouble = repairs.trouble.value;
  const unfit = preview?.reports.some(({ outcome }) => outcome === 'unfit') ?? false;
  let at = 0;
  return (
    <div class="repairs">
      {steps.length > 0 && (
        <>
          <h3>Proposed repairs</h3>
          <p class="small soft measure">
            Made in this order, as the next revision; the one before can be gone back to. They join the preparation,
            which every newer export goes through.
          </p>
          <ol class="steps">
            {steps.map((step) => (
              <RepairStep
                key={step.key}
                model={model}
                step={step}
                report={step.on ? preview?.reports[at++] : undefined}
              />
            ))}
          </ol>
          <div class="total no-print">
            <div class="actions">
              <button type="button" disabled={work !== null || chosen.length === 0} onClick={() => void repairs.look()}>
                See what they would do
              </button>
              <button
                type="button"
                class="main"
                disabled={work !== null || chosen.length === 0 || unfit}
                onClick={() => void repairs.make()}
              >
                {chosen.length === 1 ? 'Make this repair' : `Make these ${chosen.length} repairs`}
              </button>
            </div>
            <p role="status" class="soft">
              {work === 'preview' && 'Trying them on a copy of the model. A large model takes a minute.'}
              {work === 'make' && 'Making them and measuring what comes of it. A large model takes a minute.'}
              {work === null && chosen.length === 0 && 'Nothing is ticked.'}
              {work === null && unfit && 'A step does not fit: untick it, or accept what it would lose.'}
            </p>
          </div>
        </>
      )}
      <Notice text={trouble && trouble.work !== 'variants' ? trouble.text : null} />
      {preview && <RepairOutcome title="What they would come to" answer={preview} before={model} />}
      {made && (
        <div class="arrives outcome" role="status">
          <h3>
            Revision {made.revision} is made, by {count(made.reports.length, 'repair')}
          </h3>
          <ReportList reports={made.reports} />
        </div>
      )}
    </div>
  );
}
