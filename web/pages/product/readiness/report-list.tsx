import type { RepairReport } from '../../../../server/core/repair/repair.ts';
import { describeRepair } from './describe-repair.ts';

const OUTCOMES: Readonly<Record<RepairReport['outcome'], string>> = {
  done: 'Done',
  'nothing-to-do': 'Nothing to do',
  unfit: 'Does not fit',
};

const TRIALS: Readonly<Record<RepairReport['outcome'], string>> = { ...OUTCOMES, done: 'Tried' };

/** What became of a step, or became of it on a copy of the model, in a word. */
export function formatOutcome(outcome: RepairReport['outcome'], isPreview = false): string {
  return (isPreview ? TRIALS : OUTCOMES)[outcome];
}

/** What came of each repair: done, nothing to do, or why it does not fit. */
export function ReportList({ reports }: { readonly reports: readonly RepairReport[] }) {
  return (
    <ol class="findings">
      {reports.map((report, index) => (
        <li key={index}>
          <span class={report.outcome === 'unfit' ? 'strong' : report.outcome === 'done' ? '' : 'soft'}>
            {formatOutcome(report.outcome)}
          </span>
          <div class="measure">
            <p>{describeRepair(report.repair)}</p>
            <p class="small soft">{report.message}</p>
            {report.losses.length > 0 && report.outcome === 'done' && (
              <p class="small">Lost by it: {report.losses.join(', ')}.</p>
            )}
          </div>
        </li>
      ))}
    </ol>
  );
}
