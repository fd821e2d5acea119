import { formatBytes, formatDate, formatNumber, formatSize } from '../../../format.ts';
import { units } from '../../../units.ts';
import type { ProductModel } from '../product-model.ts';
import { describeOrigin } from './describe-origin.ts';

/** Every revision there is, the latest first: how it came about, what it measures, and going back to it. */
export function RevisionTable({ model }: { readonly model: ProductModel }) {
  const { revisions } = model;
  const list = revisions.list.value;
  if (list.length === 0) return null;
  const current = list.find((revision) => revision.current)?.revision ?? 0;
  return (
    <div class="scroll">
      <table class="revisions">
        <thead>
          <tr>
            <th scope="col">No.</th>
            <th scope="col">Came about</th>
            <th scope="col">When</th>
            <th scope="col" class="figure">
              Size, W × D × H
            </th>
            <th scope="col" class="figure">
              Triangles
            </th>
            <th scope="col" class="figure">
              Draws
            </th>
            <th scope="col" class="figure">
              Weight
            </th>
            <th scope="col" class="no-print">
              File
            </th>
            <th scope="col">Current</th>
          </tr>
        </thead>
        <tbody>
          {list.map((revision) => (
            <tr key={revision.revision} class={revision.current ? 'selected' : undefined}>
              <th scope="row">{revision.revision}</th>
              <td>{describeOrigin(revision.origin)}</td>
              <td class="soft">{revision.createdAt === '' ? 'not recorded' : formatDate(revision.createdAt)}</td>
              <td class="figure">{revision.size ? formatSize(revision.size, units.value) : 'not known'}</td>
              <td class="figure">{formatNumber(revision.triangles)}</td>
              <td class="figure">{formatNumber(revision.draws)}</td>
              <td class="figure">{formatBytes(revision.bytes)}</td>
              <td class="no-print">
                <a class="button" href={revision.model} download={`${model.code}-model-${revision.revision}.glb`}>
                  GLB<span class="unseen"> of revision {revision.revision}</span>
                </a>
              </td>
              <td>
                {revision.current ? (
                  <span class="strong">Current</span>
                ) : (
                  <button
                    type="button"
                    class="no-print"
                    disabled={revisions.busy.value || revisions.sending.value !== null}
                    onClick={() => void revisions.use(revision.revision)}
                  >
                    {revision.revision < current ? 'Go back to this one' : 'Take this one'}
                    <span class="unseen">, revision {revision.revision}</span>
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
