import { parse } from 'csv-parse/sync';
import { stringify } from 'csv-stringify/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { makeFinishReader } from '../../../web/pages/product/schedule/grid/read-finish.ts';
import { planScheduleImport, writeScheduleCsv } from '../../../web/pages/product/schedule/grid/schedule-csv.ts';
import { disarm, guessSeparator, parseTable, rearm, writeTable } from '../../../web/parts/text-table.ts';
import { FINISHES, makeDraft, SLOTS, show } from './make-draft.ts';

const cell = fc.string({ unit: fc.constantFrom('a', '"', ',', ';', '\t', '\n', '\r', ' ', 'é') });

describe('tables of text', () => {
  it('are read as csv-parse reads them, and written so that it reads them back', () => {
    const tables = fc.array(fc.array(cell, { minLength: 2, maxLength: 4 }), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(tables, fc.constantFrom(',', ';', '\t'), (table, separator) => {
        const options = { delimiter: separator, relax_column_count: true };
        expect(
          parseTable(stringify(table, { delimiter: separator, record_delimiter: '\r\n', quoted: true }), separator),
        ).toEqual(table);
        expect(parse(writeTable(table, separator), { ...options, record_delimiter: '\r\n' })).toEqual(table);
      }),
    );
  });

  it('may end with a line break or without, and begin with a mark', () => {
    expect(parseTable('\ufeffa\tb\r\n1\t\r\n', '\t')).toEqual([
      ['a', 'b'],
      ['1', ''],
    ]);
    expect(parseTable('a\n\nb', '\t')).toEqual([['a'], [''], ['b']]);
    expect(parseTable('"open, "" end', ',')).toEqual([['open, " end']]);
    expect([guessSeparator('a;b,c;d'), guessSeparator('x')]).toEqual([';', ',']);
  });

  it('never hold a formula, and come back as they were', () => {
    for (const text of ['=1+1', '+1', '-1', '@a', '\tx', '＝1']) {
      expect(disarm(text)).toBe(`'${text}`);
      expect(rearm(disarm(text))).toBe(text);
    }
    expect([disarm('a=1'), rearm("'tis")]).toEqual(['a=1', "'tis"]);
  });
});

describe('a schedule as CSV', () => {
  const draft = makeDraft('A Ann OAK INK', 'B =Bob ASH -', 'C Cy OAK ASH');
  const readFinish = (_: string, text: string) => makeFinishReader(FINISHES, [])(text);
  const plan = (text: string) => planScheduleImport(draft, text, SLOTS, readFinish);

  it('comes back without a change, and its formulas are texts', () => {
    const text = writeScheduleCsv(draft.rows, SLOTS);
    expect(text).toContain("B,'=Bob,ASH,");
    expect(plan(text)).toMatchObject({ changed: [], added: [], absent: [], unread: [], unknown: [] });
    expect(plan(text).draft).toBe(draft);
  });

  it('shows what it changes, adds, leaves and cannot read, with columns in any order', () => {
    const file = 'Legs;Code;Seat;Price\nTeak;a;OAK;9\n;B;Elm;\nINK;Z;ink blue;';
    const result = plan(file);
    expect(result.changed).toEqual([{ code: 'A', column: 'Legs', from: 'INK', to: 'TEAK' }]);
    expect([result.added, result.absent, result.unknown]).toEqual([['Z'], ['C'], ['Price']]);
    expect(result.unread).toEqual([{ row: 3, column: 'Seat', text: 'Elm' }]);
    expect(show(result.draft)).toEqual(['A Ann OAK TEAK', 'B =Bob ASH -', 'C Cy OAK ASH', 'Z  INK INK']);
    expect(show(result.withoutOthers)).toHaveLength(3);
  });

  it('without codes changes nothing', () => {
    expect(plan('Name,Seat\nAnn,OAK')).toMatchObject({ hasCodes: false, draft });
  });
});
