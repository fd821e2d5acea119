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
