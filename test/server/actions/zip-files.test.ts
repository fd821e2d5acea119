import { parse } from 'csv-parse/sync';
import { expect, it } from 'vitest';
import { writeCsv, writeCsvSliced } from '../../../server/actions/zip-files.ts';

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

it('writes a long table in slices, with the text that it has in one go', () => {
  const items = Array.from({ length: 1001 }, (_, i) => i);
  const describe = (i: number) => [`V${i}`, i % 7 === 0 ? '=1' : 'a "b"', i];
  const work = writeCsvSliced(['code', 'name', 'number'], items, describe);
  let pauses = 0;
  let step = work.next();
  for (; !step.done; step = work.next()) pauses++;
  expect(pauses).toBeGreaterThanOrEqual(5);
  expect(step.value).toBe(writeCsv(['code', 'name', 'number'], items.map(describe)));
});
