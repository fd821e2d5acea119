import { useEffect, useMemo } from 'preact/hooks';
import type { PictureSetAnswer } from '../../../server/http/contracts/picture-set.ts';
import { describeBackground, describeFormat, describeSize, describeSubject } from '../../parts/describe-picture-set.ts';
import { Notice } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { commonTexts } from '../../texts/common.ts';
import { pictureSetsTexts as texts } from '../../texts/pictures.ts';
import { createPictureSetsModel, type PictureSetsModel } from './picture-sets-model.ts';
import { SetFields } from './set-fields.tsx';

/** Lists the picture sets; each opens into its form. */
export function PictureSetsPage() {
  const model = useMemo(createPictureSetsModel, []);
  useEffect(() => void model.load(), [model]);
  const sets = model.sets.value;
  const { columns } = texts;
  return (
    <>
      <div class="title-line">
        <Heading text={texts.heading} />
        <p class="soft">{texts.intro}</p>
        <p class="soft small" role="status">
          {model.outcome.value}
        </p>
      </div>
      <Notice text={model.problem.value}>
        <button type="button" onClick={() => void model.load()}>
          {commonTexts.tryAgain}
        </button>
      </Notice>
      {sets && (
        <section>
          <div class="scroll">
            <table class="picture-sets">
              <thead>
                <tr>
                  {[columns.set, commonTexts.code, columns.shows, columns.size, columns.format, columns.background].map(
                    (column) => (
                      <th key={column} scope="col">
                        {column}
                      </th>
                    ),
                  )}
                </tr>
              </thead>
              <tbody>
                {sets.map((set) => (
                  <SetRow key={set.code} model={model} set={set} />
                ))}
              </tbody>
            </table>
          </div>
          <div class="total no-print">
            <button type="button" aria-expanded={model.open.value === ''} onClick={model.openNew}>
              {texts.add}
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
          {set.ready && <small class="soft">{texts.builtIn}</small>}
          {set.replacesReady && <small class="soft">{texts.replacesBuiltIn}</small>}
        </th>
        <td class="code">{set.code}</td>
        <td>{describeSubject(set)}</td>
        <td>{describeSize(set)}</td>
        <td>{describeFormat(set)}</td>
        <td>{describeBackground(set)}</td>
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
