import { judge } from '../../../../server/core/product/verdict.ts';
import type { ModelAnswer } from '../../../../server/http/contracts/model.ts';
import { formatBytes } from '../../../format.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { revisionsTexts as texts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from '../readiness/describe-repair.ts';
import { ReportList } from '../readiness/repair-outcome.tsx';

/** A newer revision that waits: what it changes, and the choice to use it. */
export function IncomingRevision({ model, answer }: { readonly model: ProductModel; readonly answer: ModelAnswer }) {
  const { revisions } = model;
  const busy = revisions.busy.value;
  const findings = answer.findings;
  const serious = findings.filter(({ severity }) => severity !== 'note');
  return (
    <div class="arrives outcome">
      <p class="small soft">{texts.notCurrent(formatBytes(answer.bytes))}</p>
      <ul class="lines measure">
        {(answer.changes?.lines ?? []).map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
      {answer.prepared.length > 0 && (
        <>
          <h3>{texts.preparationOf(answer.prepared.length)}</h3>
          <ReportList reports={answer.prepared} />
        </>
      )}
      <p>
        {texts.verdict}
        <span class="strong">{commonTexts.verdict(judge(findings))}</span>.{' '}
        <span class="soft">{describeFindings(findings)}</span>
      </p>
      {serious.length > 0 && <FindingList findings={serious} />}
      <div class="actions">
        <button type="button" class="main" disabled={busy} onClick={() => void revisions.use(answer.revision)}>
          {texts.use}
        </button>
        <button type="button" disabled={busy} onClick={revisions.keepCurrent}>
          {commonTexts.cancel}
        </button>
        <p class="soft" role="status">
          {busy && texts.switching}
        </p>
      </div>
    </div>
  );
}
