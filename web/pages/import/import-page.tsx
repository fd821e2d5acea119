import { useEffect, useMemo } from 'preact/hooks';
import { DropLine } from '../../parts/drop-line.tsx';
import { Heading } from '../../parts/heading.tsx';
import { Notice } from '../../parts/notice.tsx';
import { ColumnTable } from './column-table.tsx';
import { DryRun } from './dry-run.tsx';
import { createImportModel } from './import-model.ts';
import { SettingFields } from './setting-fields.tsx';

const ENDINGS = '.csv,.tsv,.txt,.cgats,.it8,.cxf,.xml';

/** Measurement files: what would come of one, line by line, and then the import. */
export function ImportPage() {
  const model = useMemo(createImportModel, []);
  useEffect(() => void model.load(), [model]);
  const file = model.file.value;
  return (
    <>
      <div class="title-line">
        <Heading text="Import finishes" />
        <p class="soft">Nothing is stored before you have seen what would come of it.</p>
      </div>
      <div class="import-file">
        <DropLine
          text={
            file
              ? `${file.name}. Drop another file here to look at that one.`
              : 'Drop a measurement file here: CGATS.17 text, CxF3 XML or CSV.'
          }
          button={file ? 'Choose another file' : 'Choose a file'}
          accept={ENDINGS}
          onFile={model.take}
        />
      </div>
      <SettingFields model={model} />
      <div class="import-trouble">
        <Notice text={model.trouble.value}>
          {file && (
            <button type="button" onClick={() => void model.tryAgain()}>
              Look at the file again
            </button>
          )}
        </Notice>
      </div>
      <DryRun model={model} />
      <ColumnTable />
    </>
  );
}
