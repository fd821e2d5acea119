import { useEffect, useRef } from 'preact/hooks';
import { judge } from '../../../../server/core/product/finding.ts';
import type { ModelAnswer } from '../../../../server/http/contracts/model.ts';
import { count, formatBytes } from '../../../format.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { Notice } from '../../../parts/notice.tsx';
import { commonTexts } from '../../../texts/common.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from '../readiness/describe-findings.ts';
import { ReportList } from '../readiness/report-list.tsx';

/** A newer export on its way in: how far it is, what it changes, and whether it is taken. */
export function IncomingSection({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const sending = revisions.sending.value;
  const waiting = revisions.waiting.value;
  const place = useRef<HTMLElement>(null);
  const shown = sending !== null || waiting !== null;
  useEffect(() => {
    // it is dropped anywhere on the page, and what becomes of it is told here
    if (shown) place.current?.scrollIntoView({ block: 'nearest' });
  }, [shown, waiting]);
  return (
    <section ref={place} class="incoming no-print" hidden={!shown && !revisions.trouble.value && !revisions.said.value}>
      {shown && <h2>{waiting ? `Revision ${waiting.revision} has arrived` : 'A model is on its way'}</h2>}
      {sending !== null && (
        <p role="status">
          {sending < 1
            ? `Sending, ${Math.round(sending * 100)} %`
            : 'Sent. It is being read, measured and prepared. A large model takes a minute.'}
          <progress aria-label="Sent" value={sending} />
        </p>
      )}
      <Notice text={revisions.trouble.value ?? revisions.said.value} />
      {waiting && <Incoming model={model} answer={waiting} />}
    </section>
  );
}

function Incoming({ model, answer }: { readonly model: ProductModel; readonly answer: ModelAnswer }) {
  const { revisions } = model;
  const busy = revisions.busy.value;
  const findings = answer.findings;
  const against = findings.filter(({ severity }) => severity !== 'note');
  return (
    <div class="arrives outcome">
      <p class="small soft">{formatBytes(answer.bytes)}. It is not the current one until you take it.</p>
      <ul class="lines measure">
        {(answer.changes?.lines ?? []).map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
      {answer.prepared.length > 0 && (
        <>
          <h3>The preparation, {count(answer.prepared.length, 'step')}</h3>
          <ReportList reports={answer.prepared} />
        </>
      )}
      <p>
        Verdict: <span class="strong">{commonTexts.verdict(judge(findings))}</span>.{' '}
        <span class="soft">{describeFindings(findings)}</span>
      </p>
      {against.length > 0 && <FindingList findings={against} />}
      <div class="actions">
        <button type="button" class="main" disabled={busy} onClick={() => void revisions.use(answer.revision)}>
          Take it
        </button>
        <button type="button" disabled={busy} onClick={revisions.leave}>
          Leave it
        </button>
        <p class="soft" role="status">
          {busy && 'Taking it.'}
        </p>
      </div>
    </div>
  );
}
