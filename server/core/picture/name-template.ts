import { Problem } from '../problems.ts';
import { PICTURE_SET_PROBLEMS } from '../texts/problems/picture-set.ts';

/**
 * What a template for file names can say. `finish` are the finishes of a variant in the order of its slots; `size` is
 * 2048, or 2551x3579; `index` counts from 1, with zeros before it so that names sort; `gtin` has 14 digits.
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

/** Text between fields, and fields. */
export type NamePart = string | { readonly field: NameField };

/** Characters of a template: more than a name can have. */
const TEMPLATE_LENGTH = 200;

/**
 * Reads a template such as `{product}_{variant}_{view}_{size}`. The ending is not part of it: it comes of the format. There
 * is no date: a set that is made again must come out under the same names.
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
 * The text a template comes to.
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
