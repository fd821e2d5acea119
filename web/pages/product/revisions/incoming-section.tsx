import { useEffect, useRef } from 'preact/hooks';
import { judge } from '../../../../server/core/product/finding.ts';
import type { ModelAnswer } from '../../../../server/http/contracts/model.ts';
import { formatBytes } from '../../../format.ts';
import { FindingList } from '../../../parts/finding-list.tsx';
import { Notice } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { revisionsTexts as texts } from '../../../texts/product-revisions.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings } from '../readiness/describe-repair.ts';
import { ReportList } from '../readiness/repair-outcome.tsx';

/** A newer export: its upload, what it changes, and the choice to use it. */
export function IncomingSection({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const sending = revisions.sending.value;
  const waiting = revisions.waiting.value;
  const section = useRef<HTMLElement>(null);
  const shown = sending !== null || waiting !== null;
  useEffect(() => {
    // a file may be dropped anywhere on the page, so bring its result into view
    if (shown) section.current?.scrollIntoView({ block: 'nearest' });
  }, [shown, waiting]);
  return (
    <section
      ref={section}
      class="incoming no-print"
      hidden={!shown && !revisions.trouble.value && !revisions.message.value}
    >
      {shown && <h2>{waiting ? texts.arrived(waiting.revision) : texts.uploading}</h2>}
      {sending !== null && (
        <p role="status">
          {sending < 1 ? commonTexts.uploading(sending) : texts.measuring}
          <progress aria-label={commonTexts.uploaded} value={sending} />
        </p>
      )}
      <Notice text={revisions.trouble.value ?? revisions.message.value} />
      {waiting && <IncomingRevision model={model} answer={waiting} />}
    </section>
  );
}

function IncomingRevision({ model, answer }: { readonly model: ProductModel; readonly answer: ModelAnswer }) {
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
        <button type="button" disabled={busy} onClick={revisions.leave}>
          {commonTexts.cancel}
        </button>
        <p class="soft" role="status">
          {busy && texts.switching}
        </p>
      </div>
    </div>
  );
}
