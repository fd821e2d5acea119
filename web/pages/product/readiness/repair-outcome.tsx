import type { RepairReport } from '../../../../server/core/repair/repair.ts';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import type { RepairAnswer } from '../../../../server/http/contracts/model.ts';
import { formatBytes, formatSize } from '../../../format.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { repairTexts, readinessTexts as texts } from '../../../texts/product-readiness.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings, describeRepair } from './describe-repair.ts';

interface RepairOutcomeProps {
  readonly answer: RepairAnswer;
  readonly before: ProductModel;
}

/** Size, slots, draw calls, triangles and file size before and after the repairs, and the verdict after them. */
export function RepairOutcome({ answer, before }: RepairOutcomeProps) {
  const { changes, verdict } = answer;
  // an unfit step shows this beside its own line
  const findings = answer.findings.filter(({ code }) => code !== 'preparation-step-unfit');
  const slots = before.slots.value.filter(({ primitives }) => primitives > 0).length;
  const size = (value: typeof changes.size.before) => (value ? formatSize(value, units.value) : commonTexts.notKnown);
  const rows: readonly (readonly [string, string, string])[] = [
    [texts.rows.size, size(changes.size.before), size(changes.size.after)],
    [
      texts.rows.slots,
      formatNumber(slots),
      formatNumber(answer.slots.filter(({ primitives }) => primitives > 0).length),
    ],
    [texts.rows.draws, formatNumber(changes.draws.before), formatNumber(changes.draws.after)],
    [texts.rows.triangles, formatNumber(changes.triangles.before), formatNumber(changes.triangles.after)],
    [texts.rows.bytes, formatBytes(changes.bytes.before), formatBytes(changes.bytes.after)],
  ];
  const serious = findings.filter(({ severity }) => severity !== 'note');
  return (
    <div class="arrives outcome" role="status">
      <h3>{texts.outcome}</h3>
      <table class="before-after">
        <thead>
          <tr>
            <th scope="col">{texts.unchangedYet}</th>
            <th scope="col" class="figure">
              {texts.now}
            </th>
            <th scope="col" class="figure">
              {texts.after}
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, now, after]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td class="figure soft">{now}</td>
              <td class={now === after ? 'figure soft' : 'figure strong'}>{now === after ? texts.same : after}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        {texts.verdictAfter}
        <span class="strong">{commonTexts.verdict(verdict)}</span>.{' '}
        <span class="soft">
          {serious.length === 0 && findings.length > 0 ? texts.notesOnly(findings.length) : describeFindings(findings)}
        </span>
      </p>
      {serious.length > 0 && <FindingList findings={serious} />}
    </div>
  );
}

/** The outcome of a repair, or of its preview, in a word or two. */
export function formatOutcome(outcome: RepairReport['outcome'], isPreview = false): string {
  return isPreview && outcome === 'done' ? repairTexts.previewDone : repairTexts.outcomes[outcome];
}

/** The outcome of each repair, with its message and losses. */
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
              <p class="small">{repairTexts.lost(report.losses)}</p>
            )}
          </div>
        </li>
      ))}
    </ol>
  );
}
