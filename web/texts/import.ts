import { count, formatNumber } from '../../server/core/texts/format-text.ts';

/** Texts of the page that imports finishes from measurement files. */
export const importTexts = {
  heading: 'Import finishes',
  intro: 'Dyeworks shows a preview before it stores anything.',

  // file
  drop: 'Drop a measurement file here: CGATS.17 text, CxF3 XML or CSV.',
  dropAnother: (fileName: string) => `${fileName}. Drop another file here to replace it.`,
  chooseAnother: 'Choose another file',
  readAgain: 'Read file again',
  reading: (fileName: string) => `Reading ${fileName} …`,
  changedMeanwhile:
    'Dyeworks imported nothing: the finishes changed in the meantime, and it now refuses a line. Check the preview, then import again.',

  // columns of a file whose headers are not all known
  mapping: {
    heading: 'Columns of the file',
    note: 'Check the column of each header. The choice is kept for the next file with these headers.',
    missing: (columns: readonly string[]) =>
      `Some headers are not known. Choose the ${columns.length === 1 ? 'column' : 'columns'} for ${columns.join(' and ')}.`,
    header: 'Header in the file',
    noHeader: (number: number) => `Column ${number}, without a header`,
    sample: 'First row',
    column: 'Column',
    columnOf: (header: string) => `Column for ${header}`,
    leaveOut: 'Leave out',
    wavelength: (nm: string) => `Reflectance at ${nm} nm`,
    translation: (language: string) => `Name in ${language}`,
    columns: {
      code: 'Code',
      name: 'Name',
      family: 'Family',
      article: 'Article',
      hex: 'sRGB hex',
      display: 'Approved screen colour',
      illuminant: 'Illuminant',
      observer: 'Observer',
      geometry: 'Measuring geometry',
      tags: 'Tags',
      supplier: 'Supplier',
      note: 'Note',
      l: 'L*',
      a: 'a*',
      b: 'b*',
      x: 'X',
      y: 'Y',
      z: 'Z',
      gu20: 'Gloss at 20°',
      gu60: 'Gloss at 60°',
      gu85: 'Gloss at 85°',
    },
  },

  // default values
  defaults: {
    heading: 'Default values',
    note: 'These values apply where the file gives none. Lab and XYZ colours need an illuminant and an observer.',
    family: 'Family of new finishes',
    article: 'Article of new finishes',
    illuminant: 'Illuminant',
    observer: 'Observer',
    geometry: 'Measuring geometry',
    fromFile: 'From the file only',
  },

  // preview and result
  preview: 'Preview',
  result: 'Import result',
  formats: { csv: 'CSV', cgats: 'CGATS.17', cxf: 'CxF3' },
  summary: (lines: number, format: string, counts: readonly string[]) =>
    `${count(lines, 'line')} of ${format}: ${counts.join(', ')}.`,
  linesToShow: 'Lines to show',
  allLines: 'All lines',
  kinds: { created: 'New', changed: 'Changed', unchanged: 'Unchanged', refused: 'Refused' },
  kindCount: (kind: string, n: number) => `${kind} (${formatNumber(n)})`,
  moreLines: (n: number) => `${count(n, 'more line')}.`,
  imported: (finishes: number, skipped: number) =>
    `${count(finishes, 'finish', 'finishes')} imported${skipped > 0 ? `, ${count(skipped, 'line')} skipped` : ''}.`,
  showFinishes: 'Show finishes',
  allStored: 'All finishes in this file are already stored.',
  nothingToImport: 'No line of this file can be imported. Correct the lines below, then choose the file again.',
  importFinishes: (n: number) => `Import ${count(n, 'finish', 'finishes')}`,
  skipRefused: (n: number) =>
    `Skip ${count(n, 'refused line')}. To import ${n === 1 ? 'it' : 'them'}, correct the file first.`,

  // table of lines
  columns: { line: 'Line', lab: 'CIE Lab', labViewing: 'D65, 2°', outcome: 'Outcome', notes: 'Notes' },
  noCode: 'no code',
  newIn: (group: string) => `New, ${group}`,
  changed: (before: string, after: string) => `${before} → ${after}`,
  removed: (before: string) => `removed, was ${before}`,

  // notes on a line; the finish explains them in full once it is stored
  notes: {
    'albedo-implausible': 'unusual lightness for this surface',
    'metal-too-dark': 'darker than bare metals',
    'surface-implausible': 'unusual surface for this family',
    'gloss-out-of-reach': 'gloss outside the convertible range',
    'gloss-not-read': 'gloss not convertible to a roughness',
    'pattern-off-colour': 'mean of the colour map differs from the colour',
    'pattern-flattened': 'colour map delivered with less contrast',
    moire: 'fine pattern may cause moiré',
    other: 'more details on the finish after the import',
  },
  estimated: (typicalDeltaE: number, worstDeltaE: number) =>
    `estimated from 10°, usually within ΔE00 ${typicalDeltaE}, and within ${worstDeltaE} in 19 of 20 cases`,
  outOfGamut: (deltaE: string) => `outside sRGB, shown colour differs by ΔE00 ${deltaE}`,

  // columns of a CSV file
  csv: {
    heading: 'CSV columns',
    note: 'The first row names the columns, in any order. Code and name are required. For other headers, Dyeworks asks.',
    example: 'Download an example',
    column: 'Column',
    content: 'Content',
    rules:
      'Separate columns with commas, semicolons or tabs. With semicolons, numbers may have a decimal comma. Use UTF-8, or UTF-16 with a byte order mark. An empty cell leaves the value of a known finish unchanged. The import refuses cells that a spreadsheet would run as a formula.',
  },
} as const;
