/** Columns of text, which must not contain formulas. */
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

/** Stands for a column that the import leaves out. */
export const LEFT_OUT = '-';

/**
 * Other names of columns that instruments, suppliers and spreadsheets use (common practice), as `simplify` leaves them. The
 * gloss angles are those of ISO 2813; a gloss without an angle stays unknown, since each angle reads another figure.
 */
const ALIASES: readonly (readonly [column: string, names: RegExp])[] = [
  [
    'code',
    /^(?:(?:finish|colou?r|item|product) (?:code|no|number|id)|(?:sku|no|nr|number|sample id|item|ref|reference))$/,
  ],
  ['name', /^(?:(?:finish|colou?r|sample|item) name|colou?r|description|designation|title)$/],
  ['article', /^(?:article (?:no|number|code)|collection)$/],
  ['l', /^(?:(?:cie ?)?(?:lab )?l)$/],
  ['a', /^(?:(?:cie ?)?(?:lab )?a)$/],
  ['b', /^(?:(?:cie ?)?(?:lab )?b)$/],
  ['x', /^(?:cie ?|xyz )x$/],
  ['y', /^(?:cie ?|xyz )y$/],
  ['z', /^(?:cie ?|xyz )z$/],
  ['hex', /^(?:(?:s?rgb|colou?r|web|html) ?(?:hex|code)|hex (?:code|colou?r|value)|#?hex)$/],
  ['display', /^screen colou?r$/],
  ['illuminant', /^light source$/],
  ['observer', /^observer angle$/],
  ['geometry', /^measuring geometry$/],
  ['tags', /^(?:tag|keywords?)$/],
  ['supplier', /^(?:maker|manufacturer|vendor|brand)$/],
  ['note', /^(?:notes|remarks?|comments?)$/],
];

const GLOSS =
  /^(?:(?:gloss|gu|gloss units?)(?: at)? ?(20|60|85)(?: ?(?:deg|degrees))?(?: gu)?|(20|60|85)(?: ?(?:deg|degrees))? (?:gloss|gu))$/;
const WAVELENGTH = /^(?:(?:nm|r|refl|reflectance|spectral nm) ?(\d{3})(?: ?nm)?|(\d{3}) ?nm)$/;

/**
 * The column that each header names, exactly or in another usual way; null where it names none. An exact name wins over
 * another one for the same column, and the first of those over the next.
 * @example nameColumns(['Item no.', 'L*', 'Gloss 60°', 'Price']) // ['code', 'l', 'gu60', null]
 */
export function nameColumns(headers: readonly string[]): (string | null)[] {
  const exact = headers.map(findExact);
  const taken = new Set(exact.filter((column) => column !== null));
  return exact.map((column, at) => {
    if (column !== null) return column;
    const other = findOther(headers[at]!);
    if (other === null || taken.has(other)) return null;
    taken.add(other);
    return other;
  });
}

/** Column names in lower case; a language keeps its case. */
function findExact(header: string): string | null {
  const [, language] = TRANSLATION_COLUMN.exec(header.trim()) ?? [];
  if (language) return `name:${language}`;
  const column = header.trim().toLowerCase();
  const known: readonly string[] = [...TEXT_COLUMNS, ...NUMBER_COLUMNS];
  return known.includes(column) || WAVELENGTH_COLUMN.test(column) ? column : null;
}

function findOther(header: string): string | null {
  const plain = simplify(header);
  const [, gloss, angle] = GLOSS.exec(plain) ?? [];
  if (gloss ?? angle) return `gu${gloss ?? angle}`;
  const [, nm, wavelength] = WAVELENGTH.exec(plain) ?? [];
  if (nm ?? wavelength) return `nm${nm ?? wavelength}`;
  return ALIASES.find(([, names]) => names.test(plain))?.[0] ?? null;
}

/** In lower case, without stars, brackets with their content, dots and repeated spaces. */
function simplify(header: string): string {
  return header
    .normalize('NFKC')
    .toLowerCase()
    .replace(/\([^)]*\)|\[[^\]]*\]/g, ' ')
    .replace(/°/g, ' deg ')
    .replace(/[*.,:@/]/g, ' ')
    .replace(/[\s_-]+/g, ' ')
    .trim();
}
