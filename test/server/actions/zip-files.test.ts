import { parse } from 'csv-parse/sync';
import { expect, it } from 'vitest';
import { writeCsv } from '../../../server/actions/zip-files.ts';

// Read back with csv-parse 7 (MIT), which reads RFC 4180.

it('gives every cell back, quotes and line breaks too', () => {
  const rows = [
    ['A', 'Oak, “smoked” "dark"', 'two\nlines'],
    ['B', '', 'Grün'],
  ];
  expect(parse(writeCsv(['code', 'name', 'note'], rows))).toEqual([['code', 'name', 'note'], ...rows]);
});

it('hands no formula to a spreadsheet, and leaves figures figures (OWASP, CSV injection)', () => {
  const [, row] = parse(writeCsv(['a', 'b', 'c', 'd'], [['=1+1', '@x', -3.5, null]])) as string[][];
  expect(row).toEqual(["'=1+1", "'@x", '-3.5', '']);
});
