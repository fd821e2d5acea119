import type { ProblemTexts } from './problem-text.ts';

/** Texts about files of measured finishes: CSV, CGATS.17 and CxF3. */
export const IMPORT_PROBLEMS = {
  'import-unreadable': {
    noRows: 'The file contains no finishes. Send one with at least one row of data.',
    tooManyRows: (rows: number, most: number) =>
      `The file has ${rows} rows; one import takes ${most} at most. Split the file.`,
    tooLarge: 'Reading the file needs too much memory or time. Split it, and import the parts one by one.',
    csv: (fault: string) => `The CSV file is damaged: ${fault}. Check its quotation marks.`,
    csvTooManyColumns: (columns: number, most: number) =>
      `The header has ${columns} columns; ${most} are allowed. Remove columns that finishes do not need.`,
    csvMissingColumns: (names: string) => `The first row has to name the columns, but ${names} is missing. Add it.`,
    csvUnknownColumns: (names: string) => `These columns are unknown: ${names}. Rename or remove them.`,
    csvRepeatedColumns: (names: string) => `These columns occur twice: ${names}. Keep one of each.`,
    csvCellCount: (columns: number, cells: number) =>
      `The header has ${columns} columns, but this row has ${cells}. Put quotation marks around cells that contain the separator.`,
    cgatsNestedFormat: (line: number) => `Line ${line}: BEGIN_DATA_FORMAT is inside another part. End that part first.`,
    cgatsFormatNotBegun: (line: number) => `Line ${line}: END_DATA_FORMAT has no BEGIN_DATA_FORMAT. Add it.`,
    cgatsDataWithoutFormat: (line: number) =>
      `Line ${line}: BEGIN_DATA has to follow a data format. Put BEGIN_DATA_FORMAT, the fields and END_DATA_FORMAT first.`,
    cgatsDataNotBegun: (line: number) => `Line ${line}: END_DATA has no BEGIN_DATA. Add it.`,
    cgatsNoData: (line: number) =>
      `Line ${line}: the file has no data. It needs BEGIN_DATA_FORMAT, fields, END_DATA_FORMAT, BEGIN_DATA, sets and END_DATA, in this order.`,
    cgatsCutOff: (line: number, part: string) =>
      `Line ${line}: the file ends inside its ${part}, so it may be cut off. Export it again.`,
    cgatsCount: (line: number, keyword: string, stated: string, found: number) =>
      `Line ${line}: ${keyword} is ${stated}, but the file has ${found}. The file may be cut off; export it again.`,
    cgatsOpenQuote: (line: number) => `Line ${line}: a quotation mark has no partner on its line. Close it.`,
    cgatsTokenCount: (fields: number, tokens: number) =>
      `The data format has ${fields} fields, but this set has ${tokens}. Put quotation marks around text with spaces.`,
    notCxf: (name: string, namespace: string) =>
      `The XML is not CxF3: its outer element is “${name}” of “${namespace}”. Export the file as CxF3.`,
    xmlDeclaration: (kind: string) => `The XML contains a ${kind} declaration, which is not supported. Remove it.`,
    xmlTooManyElements: (most: number) => `The XML has more than ${most} elements. Split the file.`,
    xmlRoots: (count: number) => `The XML has ${count} outer elements instead of one. Export the file again.`,
    xmlTooDeep: 'The XML is nested too deeply or damaged. Export the file again.',
    xmlFault: (line: number, fault: string) => `The XML is damaged. Line ${line}: ${fault}. Export the file again.`,
    xmlEntity: (line: number, entity: string) =>
      `Near line ${line}, “${entity}” is not a valid character reference in XML. Correct it, or export the file again.`,
  },
  'text-encoding': {
    statedOtherwise: (charset: string) =>
      `The file is sent as ${charset}. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.`,
    brokenUtf16: (encoding: string) =>
      `The file begins as ${encoding} but then contains invalid bytes. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.`,
    notUtf8: 'The file is not UTF-8. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.',
    zeroBytes:
      'The file contains zero bytes, which suggests UTF-16 without a byte order mark. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.',
    xmlDeclaresAnother: (encoding: string) =>
      `The XML declares the encoding ${encoding} but is not in it. Save the file as UTF-8 and send it again.`,
  },
  'cell-formula': (column: string, cell: string) =>
    `The column ${column} contains “${cell}”, which a spreadsheet would run as a formula. Use text that does not begin with =, +, -, @ or a tab.`,
  'colour-incomplete': {
    missingCells: (keys: readonly string[], missing: readonly string[]) =>
      `This row has no ${missing.join(' and no ')}. Give all three: ${keys.join(', ')}.`,
    cxfMissingSpecification: (element: string, id: string) =>
      `${element} refers to the colour specification “${id}”, which is not in the file. Export the file again with its specifications.`,
    cxfMissingValue: (element: string, name: string, names: readonly string[]) =>
      `${element} has no ${name}. Give ${names.join(', ')}.`,
    cxfSrgb: (codes: readonly number[]) =>
      `ColorSRGB is ${codes.join(', ')}. Its channels have to be whole numbers from 0 to 255.`,
  },
  'duplicate-code': (code: string, lines: string) => `The code “${code}” occurs on lines ${lines}. Keep one of them.`,
  'invalid-field': {
    noFamily: (families: readonly string[]) =>
      `The family of this finish is missing. Add a family column or an article, or choose a family for the whole file: ${families.join(', ')}.`,
    unknownFamily: (family: string, families: readonly string[]) =>
      `There is no family “${family}”. Use one of ${families.join(', ')}.`,
    tooManyTags: (count: number, max: number) => `The finish has ${count} tags; ${max} are allowed. Remove some.`,
    tagTooLong: (max: number) => `A tag has more than ${max} characters. Shorten it.`,
    supplierTooLong: (max: number) => `The supplier has more than ${max} characters. Shorten it.`,
    noteTooLong: (max: number) => `The note has more than ${max} characters. Shorten it.`,
    displayNotHex: (text: string) =>
      `“${text}” is not an sRGB hex colour for screens. Use # and six digits or letters from a to f.`,
  },
  'unknown-article': (code: string) => `There is no article “${code}”. Create it first, or leave the article out.`,
} as const satisfies ProblemTexts;
