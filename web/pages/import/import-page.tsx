import { useEffect, useMemo } from 'preact/hooks';
import { IMPORT_COLUMNS } from '../../../server/core/import/read-import-csv.ts';
import { DropLine } from '../../parts/drop-line.tsx';
import { Notice } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { commonTexts } from '../../texts/common.ts';
import { importTexts as texts } from '../../texts/import.ts';
import { createImportModel } from './import-model.ts';
import { ImportPreview } from './import-preview.tsx';
import { SettingFields } from './setting-fields.tsx';

const ENDINGS = '.csv,.tsv,.txt,.cgats,.it8,.cxf,.xml';

/** Imports finishes from a measurement file, after a preview of every line. */
export function ImportPage() {
  const model = useMemo(createImportModel, []);
  useEffect(() => void model.load(), [model]);
  const file = model.file.value;
  return (
    <>
      <div class="title-line">
        <Heading text={texts.heading} />
        <p class="soft">{texts.intro}</p>
      </div>
      <div class="import-file">
        <DropLine
          text={file ? texts.dropAnother(file.name) : texts.drop}
          button={file ? texts.chooseAnother : commonTexts.chooseFile}
          accept={ENDINGS}
          onFile={model.openFile}
        />
      </div>
      <SettingFields model={model} />
      <div class="import-trouble">
        <Notice text={model.trouble.value}>
          {file && (
            <button type="button" onClick={() => void model.tryAgain()}>
              {texts.readAgain}
            </button>
          )}
        </Notice>
      </div>
      <ImportPreview model={model} />
      <ColumnTable />
    </>
  );
}

/** The columns of a CSV file, with an example to download. */
function ColumnTable() {
  return (
    <section>
      <div class="section-head">
        <h2>{texts.csv.heading}</h2>
        <p>
          {texts.csv.note}{' '}
          <a href="/api/finishes/import/example.csv" download="finishes-example.csv">
            {texts.csv.example}
          </a>
        </p>
      </div>
      <table class="import-columns">
        <thead>
          <tr>
            <th scope="col">{texts.csv.column}</th>
            <th scope="col">{texts.csv.content}</th>
          </tr>
        </thead>
        <tbody>
          {IMPORT_COLUMNS.map(({ columns, holds, needed }) => (
            <tr key={columns[0]}>
              <th scope="row" class={needed ? 'strong' : undefined}>
                {columns.join(', ')}
              </th>
              <td>{holds}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="small measure after-table">{texts.csv.rules}</p>
    </section>
  );
}
