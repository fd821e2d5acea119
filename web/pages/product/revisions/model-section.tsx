import { useSignal } from '@preact/signals';
import { formatNumber } from '../../../../server/core/texts/format-text.ts';
import { formatBytes, formatDate, formatSize } from '../../../format.ts';
import { DropLine } from '../../../parts/drop-line.tsx';
import { Question } from '../../../parts/form.tsx';
import { ShowMore } from '../../../parts/show-more.tsx';
import { navigate } from '../../../router.ts';
import { commonTexts } from '../../../texts/common.ts';
import { revisionsTexts as texts } from '../../../texts/product.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeOrigin } from '../readiness/describe-repair.ts';

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
