import { describe, expect, it } from 'vitest';
import { assignColumn, findColumnMap, listChoices, listMissing, readRows } from '../../web/pages/import/column-map.ts';

// CSV as in RFC 4180, and as spreadsheets export it: semicolons, tabs, a byte order mark.

const find = (text: string) => findColumnMap(text, () => null);

describe('the columns of a file', () => {
  it('need the user only where a header is unknown, or code or name is missing', () => {
    expect(find('code,name,L*,a*,b*\nA,One,1,2,3')).toBeNull();
    expect(find('SKU;Description;Gloss 60°\nA;One;30')).toBeNull();
    expect(find('Shade;Description;Price\nA;One;12')).toEqual({
      headers: ['Shade', 'Description', 'Price'],
      samples: ['A', 'One', '12'],
      columns: ['-', 'name', '-'],
    });
    for (const other of ['', '<?xml version="1.0"?>', 'CGATS.17\nBEGIN_DATA_FORMAT', 'one column only']) {
      expect(find(other)).toBeNull();
    }
  });

  it('begin as they were chosen before for the same headers', () => {
    const text = '\uFEFFShade\tTitle\nA\tOne';
    expect(findColumnMap(text, () => ['code', 'name'])?.columns).toEqual(['code', 'name']);
    expect(findColumnMap(text, () => ['code'])?.columns).toEqual(['-', 'name']);
  });

  it('are assigned once each', () => {
    const map = find('Shade;Description;Price\nA;One;12')!;
    expect(listMissing(map)).toEqual(['code']);
    const next = assignColumn(map, 0, 'name');
    expect(next.columns).toEqual(['name', '-', '-']);
    expect(listMissing(assignColumn(assignColumn(next, 1, 'name'), 0, 'code'))).toEqual([]);
    expect(listChoices(map)).toEqual(expect.arrayContaining(['-', 'code', 'l', 'gu85']));
  });
});

it('the first rows are read with their quotes', () => {
  expect(readRows('"a, b","c ""d"""\r\n\r\n"two\nlines",x\nnext,y', 2)).toEqual([
    ['a, b', 'c "d"'],
    ['two\nlines', 'x'],
  ]);
});
