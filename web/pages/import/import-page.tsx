import { useEffect, useMemo } from 'preact/hooks';
import { FAMILIES, GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../../server/core/finish/finish.ts';
import { IMPORT_COLUMNS } from '../../../server/core/import/read-import-csv.ts';
import { formatKey } from '../../format.ts';
import { DropLine } from '../../parts/drop-line.tsx';
import { Field, Notice, Select } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { importTexts as texts } from '../../texts/import.ts';
import { ColumnFields } from './column-fields.tsx';
import { createImportModel, type ImportModel, type ImportSettings } from './import-model.ts';
import { ImportPreview } from './import-preview.tsx';

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
          onFile={(chosen) => void model.openFile(chosen)}
        />
      </div>
      <ColumnFields model={model} />
      <SettingFields model={model} />
      <div class="import-problem">
        <Notice text={model.problem.value}>
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

type Choices = readonly (readonly [value: string, label: string])[];

/** The values that apply where the file gives none. */
function SettingFields({ model }: { readonly model: ImportModel }) {
  const fromFile: Choices[number] = ['', texts.defaults.fromFile];
  const choices: Readonly<Record<keyof ImportSettings, Choices>> = {
    family: [fromFile, ...FAMILIES.map((family) => [family, formatKey(family)] as const)],
    article: [['', commonTexts.none], ...model.articles.value.map(({ article, name }) => [article, name] as const)],
    illuminant: [fromFile, ...ILLUMINANTS.toReversed().map((illuminant) => [illuminant, illuminant] as const)],
    observer: [fromFile, ...OBSERVERS.map((observer) => [observer, observer.replace('deg', '°')] as const)],
    geometry: [fromFile, ...GEOMETRIES.map((geometry) => [geometry, finishesTexts.geometries[geometry]] as const)],
  };
  return (
    <section class="no-print">
      <div class="section-head">
        <h2>{texts.defaults.heading}</h2>
        <p class="small">{texts.defaults.note}</p>
      </div>
      <div class="form">
        {(Object.keys(choices) as (keyof ImportSettings)[]).map((key) => (
          <Field key={key} name={texts.defaults[key]}>
            <Select
              label={texts.defaults[key]}
              value={model.settings.value[key]}
              options={choices[key]}
              disabled={model.answer.value?.stored}
              onPick={(value) => model.changeSettings({ [key]: value })}
            />
          </Field>
        ))}
      </div>
    </section>
  );
}
