import type { RepairAnswer } from '../../../../server/http/contracts/model.ts';
import { count, formatBytes, formatNumber, formatSize } from '../../../format.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from './describe-findings.ts';

interface RepairOutcomeProps {
  readonly title: string;
  readonly answer: RepairAnswer;
  readonly before: ProductModel;
}

/** Size, draws, triangles, weight and slots before and after, and the verdict that would stand then. */
export function RepairOutcome({ title, answer, before }: RepairOutcomeProps) {
  const { changes, verdict } = answer;
  // a step that does not fit says so where it stands
  const findings = answer.findings.filter(({ code }) => code !== 'preparation-step-unfit');
  const slots = before.slots.value.filter(({ primitives }) => primitives > 0).length;
  const size = (value: typeof changes.size.before) => (value ? formatSize(value, units.value) : 'not known');
  const rows: readonly (readonly [string, string, string])[] = [
    ['Size, W × D × H', size(changes.size.before), size(changes.size.after)],
    ['Slots', formatNumber(slots), formatNumber(answer.slots.filter(({ primitives }) => primitives > 0).length)],
    ['Draws', formatNumber(changes.draws.before), formatNumber(changes.draws.after)],
    ['Triangles', formatNumber(changes.triangles.before), formatNumber(changes.triangles.after)],
    ['Weight', formatBytes(changes.bytes.before), formatBytes(changes.bytes.after)],
  ];
  const against = findings.filter(({ severity }) => severity !== 'note');
  return (
    <div class="arrives outcome" role="status">
      <h3>{title}</h3>
      <table class="before-after">
        <thead>
          <tr>
            <th scope="col">Nothing is changed yet</th>
            <th scope="col" class="figure">
              Now
            </th>
            <th scope="col" class="figure">
              Then
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, now, then]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td class="figure soft">{now}</td>
              <td class={now === then ? 'figure soft' : 'figure strong'}>{now === then ? 'the same' : then}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        Verdict then: <span class="strong">{commonTexts.verdict(verdict)}</span>.{' '}
        <span class="soft">
          {against.length === 0 && findings.length > 0
            ? `${count(findings.length, 'note')}, nothing against a delivery.`
            : describeFindings(findings)}
        </span>
      </p>
      {against.length > 0 && <FindingList findings={against} />}
    </div>
  );
}
