import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { judge } from '../../../../server/core/product/finding.ts';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import type { ModelAnswer } from '../../../../server/http/contracts/model.ts';
import { formatBytes, formatDate, formatSize } from '../../../format.ts';
import { DropLine } from '../../../parts/drop-line.tsx';
import { FindingList } from '../../../parts/finding-list.tsx';
import { Notice, Question } from '../../../parts/form.tsx';
import { ShowMore } from '../../../parts/show-more.tsx';
import { navigate } from '../../../router.ts';
import { commonTexts } from '../../../texts/common.ts';
import { revisionsTexts as texts } from '../../../texts/product.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeFindings, describeOrigin } from '../readiness/describe-repair.ts';
import { ReportList } from '../readiness/repair-outcome.tsx';

/** The revisions of the model, uploading another, and deleting the product. */
export function ModelSection({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const isFirst = model.product.value?.model === null;
  return (
    <section>
      <div class="section-head">
        <h2>{texts.model}</h2>
        <p class="small">{isFirst ? texts.noModel : texts.modelIntro}</p>
      </div>
      <RevisionTable model={model} />
      <ShowMore list={model.revisions.list} what={texts.model} />
      <div class="after-table no-print">
        {revisions.sending.value === null ? (
          <DropLine
            text={isFirst ? texts.dropFirst : texts.dropNewer}
            button={commonTexts.chooseFile}
            onFile={(file) => void revisions.send(file, isFirst)}
          />
        ) : (
          <p class="soft">{texts.uploadRunning}</p>
        )}
      </div>
      <DeleteProduct model={model} />
    </section>
  );
}

function DeleteProduct({ model }: { readonly model: ProductModel }) {
  const asking = useSignal(false);
  return (
    <div class="total no-print">
      {asking.value ? (
        <Question
          text={texts.deleteQuestion(model.code)}
          confirm={texts.deleteProduct}
          onConfirm={async () => {
            await model.remove(() => navigate('/'));
          }}
          onCancel={() => {
            asking.value = false;
          }}
        />
      ) : (
        <button
          type="button"
          onClick={() => {
            asking.value = true;
          }}
        >
          {texts.deleteProduct}
        </button>
      )}
    </div>
  );
}

/** All revisions, the latest first: origin, measurements, and switching to another. */
function RevisionTable({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const list = revisions.list.entries.value;
  if (list.length === 0) return null;
  const current = model.product.value?.model?.revision ?? 0;
  return (
    <div class="scroll">
      <table class="revisions">
        <thead>
          <tr>
            <th scope="col">{texts.columns.number}</th>
            <th scope="col">{texts.columns.origin}</th>
            <th scope="col">{texts.columns.date}</th>
            <th scope="col" class="figure">
              {texts.columns.size}
            </th>
            <th scope="col" class="figure">
              {texts.columns.triangles}
            </th>
            <th scope="col" class="figure">
              {texts.columns.draws}
            </th>
            <th scope="col" class="figure">
              {texts.columns.bytes}
            </th>
            <th scope="col" class="no-print">
              {texts.columns.file}
            </th>
            <th scope="col">{texts.columns.current}</th>
          </tr>
        </thead>
        <tbody>
          {list.map((revision) => (
            <tr key={revision.revision} class={revision.current ? 'selected' : undefined}>
              <th scope="row">{revision.revision}</th>
              <td>{describeOrigin(revision.origin)}</td>
              <td class="soft">
                {revision.createdAt === '' ? commonTexts.notRecorded : formatDate(revision.createdAt)}
              </td>
              <td class="figure">{revision.size ? formatSize(revision.size, units.value) : commonTexts.notKnown}</td>
              <td class="figure">{formatNumber(revision.triangles)}</td>
              <td class="figure">{formatNumber(revision.draws)}</td>
              <td class="figure">{formatBytes(revision.bytes)}</td>
              <td class="no-print">
                <a class="button" href={revision.model} download={`${model.code}-model-${revision.revision}.glb`}>
                  {texts.glb}
                  <span class="unseen">{texts.ofRevision(revision.revision)}</span>
                </a>
              </td>
              <td>
                {revision.current ? (
                  <span class="strong">{texts.current}</span>
                ) : (
                  <button
                    type="button"
                    class="no-print"
                    disabled={revisions.busy.value || revisions.sending.value !== null}
                    onClick={() => void revisions.use(revision.revision)}
                  >
                    {revision.revision < current ? texts.goBack : texts.use}
                    <span class="unseen">{texts.revisionNumber(revision.revision)}</span>
                  </button>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

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
      hidden={!shown && !revisions.problem.value && !revisions.message.value}
    >
      {shown && <h2>{waiting ? texts.arrived(waiting.revision) : texts.uploading}</h2>}
      {sending !== null && (
        <p role="status">
          {sending < 1 ? commonTexts.uploading(sending) : texts.measuring}
          <progress aria-label={commonTexts.uploaded} value={sending} />
        </p>
      )}
      <Notice text={revisions.problem.value ?? revisions.message.value} />
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
