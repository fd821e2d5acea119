import { expect, it } from 'vitest';
import { IMPORT_COLUMNS } from '../../../../server/core/import/import-columns.ts';
import { readImportCsv } from '../../../../server/core/import/read-import-csv.ts';
import { expectRefusal } from '../../../support/refusal.ts';

const documented = IMPORT_COLUMNS.flatMap(({ columns }) => columns.map((column) => column.replace(/ …$/, '')));
const read = (header: readonly string[]) =>
  readImportCsv(
    [
      { line: 1, cells: header },
      { line: 2, cells: header.map(() => '') },
    ],
    { decimalComma: false, viewing: {} },
  );

it('documents what the reader takes, each column once', () => {
  expect(new Set(documented).size).toBe(documented.length);
  expect(read(documented).refused).toEqual([]);
});

it('documents all that the reader takes', async () => {
  const { more } = await expectRefusal(() => read([...documented, 'price']), 'import-unreadable');
  const taken = (more.expected as string[]).map((column) => column.replace(/ …$/, ''));
  expect(taken.filter((column) => !documented.includes(column))).toEqual([]);
});

it('marks those that are needed', async () => {
  for (const { columns, needed } of IMPORT_COLUMNS) {
    const rest = documented.filter((column) => column !== columns[0]);
    if (needed) await expectRefusal(() => read(rest), 'import-unreadable');
    else expect(read(rest).rows).toHaveLength(1);
  }
});
