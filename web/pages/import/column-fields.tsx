import { LEFT_OUT } from '../../../server/core/import/name-columns.ts';
import { Select, takeFocus } from '../../parts/form.tsx';
import { Scroll } from '../../parts/scroll.tsx';
import { importTexts } from '../../texts/import.ts';
import { listChoices, listMissing } from './column-map.ts';
import type { ImportModel } from './import-model.ts';

const texts = importTexts.mapping;

/** Assigns the columns of a file whose headers are not all known. */
export function ColumnFields({ model }: { readonly model: ImportModel }) {
  const map = model.columnMap.value;
  if (!map) return null;
  const missing = listMissing(map);
  const choices = listChoices(map).map((column) => [column, nameOf(column)] as const);
  return (
    <section class="column-map no-print">
      <div class="section-head">
        <h2 ref={takeFocus} tabIndex={-1}>
          {texts.heading}
        </h2>
        <p role="status">{missing.length > 0 ? texts.missing(missing.map(nameOf)) : texts.note}</p>
      </div>
      <Scroll label={texts.heading}>
        <table>
          <thead>
            <tr>
              <th scope="col">{texts.header}</th>
              <th scope="col">{texts.sample}</th>
              <th scope="col">{texts.column}</th>
            </tr>
          </thead>
          <tbody>
            {map.headers.map((header, at) => (
              <tr key={at}>
                <th scope="row">
                  <bdi>{header || texts.noHeader(at + 1)}</bdi>
                </th>
                <td class="soft">
                  <bdi>{map.samples[at]}</bdi>
                </td>
                <td>
                  <Select
                    label={texts.columnOf(header || texts.noHeader(at + 1))}
                    value={map.columns[at]!}
                    options={choices}
                    onPick={(column) => model.assignColumn(at, column)}
                  />
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </section>
  );
}

function nameOf(column: string): string {
  if (column === LEFT_OUT) return texts.leaveOut;
  const names: Readonly<Record<string, string>> = texts.columns;
  const wavelength = /^nm(\d+)$/.exec(column)?.[1];
  const language = /^name:(.+)$/.exec(column)?.[1];
  return names[column] ?? (wavelength ? texts.wavelength(wavelength) : language ? texts.translation(language) : column);
}
