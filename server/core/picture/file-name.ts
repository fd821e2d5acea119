import { Problem } from '../problems.ts';
import { PICTURE_SET_PROBLEMS } from '../texts/problems/picture.ts';

/**
 * Bytes of a file name with its ending. File systems allow 255. Archives, shops and mail programs allow fewer and cut
 * off the end, which is the part that tells names apart.
 */
export const FILE_NAME_BYTES = 120;

/** Letters that Unicode does not decompose into a plain letter and a mark. */
const LETTERS: Readonly<Record<string, string>> = {
  ß: 'ss',
  ẞ: 'SS',
  æ: 'ae',
  Æ: 'AE',
  œ: 'oe',
  Œ: 'OE',
  ø: 'o',
  Ø: 'O',
  ð: 'd',
  Ð: 'D',
  đ: 'd',
  Đ: 'D',
  þ: 'th',
  Þ: 'Th',
  ł: 'l',
  Ł: 'L',
  ħ: 'h',
  Ħ: 'H',
  ı: 'i',
};

/** Device names that Windows reserves, with any ending (Naming Files, Paths, and Namespaces). */
const DEVICES = /^(con|prn|aux|nul|com\d|lpt\d)$/i;

/**
 * Text as part of a file name that every system and archive accepts: letters without their marks, figures, dot,
 * underscore and hyphen. A run of anything else becomes one hyphen. Can be empty.
 * @example toFilePart('Hocker, groß № 2') // 'Hocker-gross-No-2'
 */
export function toFilePart(text: string): string {
  return text
    .normalize('NFC')
    .replace(/[^\x20-\x7e]/g, (letter) => LETTERS[letter] ?? letter)
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^A-Za-z0-9._-]+/g, '-')
    .replace(/^-+|-+$/g, '');
}

/**
 * A safe file name: safe characters only, no leading dot or hyphen, no trailing dot before the ending, no device name.
 * @param ending without its dot
 * @throws Problem `file-name-empty`, `file-name-too-long`
 */
export function toFileName(text: string, ending: string): string {
  const stem = toFilePart(text)
    // A leading dot hides a file; commands read a leading hyphen as an option.
    .replace(/^[.-]+/, '')
    .replace(/[.-]+$/, '');
  if (!/[A-Za-z0-9]/.test(stem)) {
    throw new Problem('file-name-empty', {
      detail: PICTURE_SET_PROBLEMS['file-name-empty'](text.slice(0, 80)),
      expected: 'letters or figures',
      received: text.slice(0, 80),
    });
  }
  const name = `${DEVICES.test(stem.split('.')[0]!) ? '_' : ''}${stem}.${ending}`;
  // The name is ASCII by now, so one character is one byte.
  if (name.length > FILE_NAME_BYTES) {
    throw new Problem('file-name-too-long', {
      detail: PICTURE_SET_PROBLEMS['file-name-too-long'](name.slice(0, 60), name.length, FILE_NAME_BYTES),
      expected: `${FILE_NAME_BYTES} characters at most`,
      received: name.length,
    });
  }
  return name;
}

interface NameCollision<T> {
  /** As the first of the two spells it. */
  readonly name: string;
  readonly items: readonly [T, T];
}

/** Items whose names are equal when case is ignored, each with the first item of that name. */
export function listCollisions<T>(items: readonly T[], nameOf: (item: T) => string): NameCollision<T>[] {
  const first = new Map<string, T>();
  return items.flatMap((item) => {
    const key = nameOf(item).toLowerCase();
    const known = first.get(key);
    if (known !== undefined) return [{ name: nameOf(known), items: [known, item] as const }];
    first.set(key, item);
    return [];
  });
}

/**
 * Fields of a file name template. `finish` holds the finishes of a variant in the order of its slots. `size` is 2048,
 * or 2551x3579. `index` counts from 1 and is padded with zeros so that names sort. `gtin` has 14 digits.
 */
export const NAME_FIELDS = [
  'product',
  'line',
  'variant',
  'name',
  'finish',
  'view',
  'size',
  'format',
  'gtin',
  'index',
] as const;
export type NameField = (typeof NAME_FIELDS)[number];

/** A text between fields, or a field. */
export type NamePart = string | { readonly field: NameField };

/** Longest template, in characters. It is longer than a name can be. */
const TEMPLATE_LENGTH = 200;

/**
 * Reads a template such as `{product}_{variant}_{view}_{size}`. The ending is not part of it: the format decides it.
 * There is no date field, because a repeated set must get the same names.
 * @throws Problem `file-name-template`, `unknown-name-field`
 */
export function readNameTemplate(template: string, where: string): readonly NamePart[] {
  if (template.length > TEMPLATE_LENGTH) {
    refuse(TEXTS.tooLong(template.length, TEMPLATE_LENGTH, EXAMPLE), template, where);
  }
  const parts: NamePart[] = [];
  for (const piece of template.split(/(\{[^{}]*\})/)) {
    if (piece === '') continue;
    if (!piece.startsWith('{') || !piece.endsWith('}')) {
      if (/[{}]/.test(piece)) refuse(TEXTS.openBrace(piece, EXAMPLE), template, where);
      if (/[/\\]/.test(piece)) refuse(TEXTS.slash(EXAMPLE), template, where);
      parts.push(piece);
      continue;
    }
    parts.push({ field: readField(piece.slice(1, -1), where) });
  }
  if (!parts.some((part) => typeof part !== 'string')) {
    refuse(TEXTS.noField(EXAMPLE), template, where);
  }
  return parts;
}

function readField(name: string, where: string): NameField {
  const field = NAME_FIELDS.find((each) => each === name);
  if (field) return field;
  const fields = NAME_FIELDS.map((each) => `{${each}}`).join(', ');
  const { unknown, date } = PICTURE_SET_PROBLEMS['unknown-name-field'];
  throw new Problem('unknown-name-field', {
    detail: name === 'date' ? date(fields) : unknown(name.slice(0, 40), fields),
    expected: NAME_FIELDS,
    received: name.slice(0, 40),
    where,
  });
}

const TEXTS = PICTURE_SET_PROBLEMS['file-name-template'];
const EXAMPLE = '{product}_{variant}_{view}_{size}';

function refuse(detail: string, template: string, where: string): never {
  throw new Problem('file-name-template', {
    detail,
    expected: EXAMPLE,
    received: template.slice(0, TEMPLATE_LENGTH),
    where,
  });
}

/**
 * Fills in a template.
 * @throws Problem `name-field-missing` for a field that has no value here
 */
export function fillNameTemplate(
  parts: readonly NamePart[],
  values: Readonly<Partial<Record<NameField, string>>>,
  what: string,
): string {
  return parts
    .map((part) => {
      if (typeof part === 'string') return part;
      const value = values[part.field];
      if (value !== undefined) return value;
      throw new Problem('name-field-missing', {
        detail: PICTURE_SET_PROBLEMS['name-field-missing'](part.field, what),
        expected: `{${part.field}} of ${what}`,
      });
    })
    .join('');
}
