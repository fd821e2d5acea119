import { useEffect, useMemo } from 'preact/hooks';
import type { PictureSetAnswer } from '../../../server/http/picture-answers.ts';
import { describeFormat, describeGround, describeSize, describeSubject } from '../../parts/describe-picture-set.ts';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { createPictureSetsModel, type PictureSetsModel } from './picture-sets-model.ts';
import { SetFields } from './set-fields.tsx';

/** Picture sets: what each recipient gets of every product, made and changed here. */
export function PictureSetsPage() {
  const model = useMemo(createPictureSetsModel, []);
  useEffect(() => void model.load(), [model]);
  const sets = model.sets.value;
  return (
    <>
      <div class="title-line">
        <Heading text="Picture sets" />
        <p class="soft">
          What one recipient gets of a product: views, size, format and file names. Made on the product’s page.
        </p>
        <p class="soft small" role="status">
          {model.said.value}
        </p>
      </div>
      <Notice text={model.trouble.value}>
        <button type="button" onClick={() => void model.load()}>
          Try again
        </button>
      </Notice>
      {sets && (
        <section>
          <div class="scroll">
            <table class="picture-sets">
              <thead>
                <tr>
                  <th scope="col">Set</th>
                  <th scope="col">Code</th>
                  <th scope="col">Shows</th>
                  <th scope="col">Size</th>
                  <th scope="col">Format</th>
                  <th scope="col">Ground</th>
                </tr>
              </thead>
              <tbody>
                {sets.map((set) => (
                  <SetRow key={set.code} model={model} set={set} />
                ))}
              </tbody>
            </table>
          </div>
          <div class="total">
            <button type="button" aria-expanded={model.open.value === ''} onClick={model.openNew}>
              Add a picture set
            </button>
          </div>
          {model.open.value === '' && (
            <div class="adding-set">
              <SetFields model={model} before={null} />
            </div>
          )}
        </section>
      )}
    </>
  );
}

function SetRow({ model, set }: { readonly model: PictureSetsModel; readonly set: PictureSetAnswer }) {
  const open = model.open.value === set.code;
  return (
    <>
      <tr>
        <th scope="row">
          <button type="button" aria-expanded={open} onClick={() => model.openSet(set)}>
            {set.name}
          </button>
          {set.ready && <small class="soft">always there</small>}
          {set.replacesReady && <small class="soft">in the place of the one that is always there</small>}
        </th>
        <td class="code">{set.code}</td>
        <td>{describeSubject(set)}</td>
        <td>{describeSize(set)}</td>
        <td>{describeFormat(set)}</td>
        <td>{describeGround(set)}</td>
      </tr>
      {open && (
        <tr class="opened no-print">
          <td colSpan={6}>
            <SetFields model={model} before={set} />
          </td>
        </tr>
      )}
    </>
  );
}
