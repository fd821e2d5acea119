import type { RepairReport } from '../../../../server/core/repair/repair.ts';
import type { ProductModel } from '../product-model.ts';
import { describeRepair } from './describe-repair.ts';
import { findRenamed } from './edit-groups.ts';
import { GroupTable } from './group-table.tsx';
import { editStep, type Step } from './repair-chain.ts';
import { formatOutcome } from './report-list.tsx';

interface RepairStepProps {
  readonly model: ProductModel;
  readonly step: Step;
  /** What it would do, once that was asked. */
  readonly report: RepairReport | undefined;
}

/** One proposed repair: its tick, its sentence, its settings where a person has a say, and what it would do. */
export function RepairStep({ model, step, report }: RepairStepProps) {
  const { repairs } = model;
  const { repair, key, on } = step;
  const busy = repairs.work.value !== null;
  const asks = (report?.losses.length ?? 0) > 0 || repair.accept === true;
  return (
    <li>
      <label class="tick">
        <input
          type="checkbox"
          checked={on}
          disabled={busy}
          onChange={(event) => {
            const checked = event.currentTarget.checked;
            repairs.edit((steps) => steps.map((other) => (other.key === key ? { ...other, on: checked } : other)));
          }}
        />
        <span class={on ? '' : 'soft'}>{describeRepair(repair)}</span>
      </label>
      {repair.repair === 'separate-pieces' && on && (
        <GroupTable
          groups={repair.groups}
          material={repair.material}
          disabled={busy}
          onChange={(groups) =>
            repairs.edit((steps) => editStep(steps, key, { ...repair, groups }, findRenamed(repair.groups, groups)))
          }
        />
      )}
      {report && (
        <p class="small said measure arrives">
          <span class={report.outcome === 'unfit' ? 'strong' : ''}>{formatOutcome(report.outcome, true)}:</span>{' '}
          {report.message}
        </p>
      )}
      {on && asks && (
        <label class="tick said small">
          <input
            type="checkbox"
            checked={repair.accept === true}
            disabled={busy}
            onChange={(event) => {
              const { accept: _, ...plain } = repair;
              const next = event.currentTarget.checked ? { ...plain, accept: true } : plain;
              repairs.edit((steps) => editStep(steps, key, next as typeof repair));
            }}
          />
          {report && report.losses.length > 0
            ? `Accept that this is lost: ${report.losses.join(', ')}`
            : 'What it loses is accepted'}
        </label>
      )}
    </li>
  );
}
