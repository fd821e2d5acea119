/** Columns of a CSV file of finishes that belong together, and what they hold. */
export interface ImportColumns {
  readonly columns: readonly string[];
  /** For people. */
  readonly holds: string;
  readonly needed?: true;
}

/** Columns of text, which may hold no formula. */
export const TEXT_COLUMNS = [
  'code',
  'name',
  'family',
  'article',
  'hex',
  'display',
  'illuminant',
  'observer',
  'geometry',
  'tags',
  'supplier',
  'note',
] as const;

export const NUMBER_COLUMNS = ['l', 'a', 'b', 'x', 'y', 'z', 'gu20', 'gu60', 'gu85'] as const;

/** `nm400`: reflectance at a wavelength in nm. */
export const WAVELENGTH_COLUMN = /^nm(\d{3,4})$/;
/** `name:de`: the name in a language. */
export const TRANSLATION_COLUMN = /^name:([a-z]{2,3}(?:-[a-z0-9]{2,8})*)$/i;

/** The header of a CSV file of finishes, for people: all that the reader takes. */
export const IMPORT_COLUMNS: readonly ImportColumns[] = [
  { columns: ['code'], holds: 'Code of the finish: a known one is changed, another is new', needed: true },
  { columns: ['name'], holds: 'Its name', needed: true },
  { columns: ['name:de …'], holds: 'The name in another language' },
  { columns: ['family', 'article'], holds: 'Family of finishes; code of an article' },
  { columns: ['hex'], holds: 'Colour as sRGB, such as #2f5d73' },
  { columns: ['l', 'a', 'b'], holds: 'or CIE L*a*b*, with illuminant and observer' },
  { columns: ['x', 'y', 'z'], holds: 'or CIE XYZ, with illuminant and observer; Y of the white is 100' },
  { columns: ['nm400', 'nm410 …'], holds: 'or reflectance 0–1, a column for each wavelength, every 5, 10 or 20 nm' },
  { columns: ['illuminant', 'observer'], holds: 'D50 or D65; 2deg or 10deg' },
  { columns: ['geometry'], holds: 'di:8 (reflection included), de:8 (excluded) or 45:0' },
  { columns: ['display'], holds: 'Approved screen colour as sRGB hex' },
  { columns: ['gu60', 'gu20', 'gu85'], holds: 'Gloss units at that angle, ISO 2813' },
  { columns: ['tags'], holds: 'Tags, separated by semicolons' },
  { columns: ['supplier', 'note'], holds: 'Text' },
];

const WAVELENGTHS = Array.from({ length: 31 }, (_, i) => 400 + 10 * i);

/** Invented: rises about 570 nm, as a yellow does. */
const YELLOW = WAVELENGTHS.map((nm) => (0.08 + 0.55 / (1 + Math.exp((515 - nm) / 14))).toFixed(4));

const ROWS: readonly Readonly<Record<string, string>>[] = [
  { code: 'EX-10', name: 'Example by hex', family: 'paint', hex: '#2f5d73', gu60: '30', tags: 'cold; example' },
  {
    code: 'EX-20',
    name: 'Example by Lab',
    'name:de': 'Beispiel nach Lab',
    family: 'powder-coat',
    l: '38.1',
    a: '-8.2',
    b: '-15.4',
    illuminant: 'D65',
    observer: '10deg',
    geometry: 'di:8',
    gu60: '72',
    tags: 'example',
    supplier: 'Example works',
  },
  {
    code: 'EX-30',
    name: 'Example by spectrum',
    family: 'textile',
    geometry: 'de:8',
    tags: 'warm; example',
    ...Object.fromEntries(WAVELENGTHS.map((nm, i) => [`nm${nm}`, YELLOW[i]!])),
  },
];

/** An example of the CSV that is taken: one finish by hex, one by Lab for the 10° observer, one by its spectrum. */
export function writeExampleCsv(): string {
  const columns = [
    ...['code', 'name', 'name:de', 'family', 'hex', 'l', 'a', 'b', 'illuminant', 'observer', 'geometry', 'gu60'],
    ...['tags', 'supplier'],
    ...WAVELENGTHS.map((nm) => `nm${nm}`),
  ];
  const lines = ROWS.map((row) => columns.map((column) => row[column] ?? '').join(','));
  return `${[columns.join(','), ...lines].join('\r\n')}\r\n`;
}
