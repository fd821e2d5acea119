import { Problem } from '../problems.ts';

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
    refuse(`It has ${template.length} characters; ${TEMPLATE_LENGTH} are taken.`, template, where);
  }
  const parts: NamePart[] = [];
  for (const piece of template.split(/(\{[^{}]*\})/)) {
    if (piece === '') continue;
    if (!piece.startsWith('{') || !piece.endsWith('}')) {
      if (/[{}]/.test(piece)) refuse(`A brace in “${piece}” has no partner.`, template, where);
      if (/[/\\]/.test(piece)) refuse('A slash would make folders; names are of files in one folder.', template, where);
      parts.push(piece);
      continue;
    }
    parts.push({ field: readField(piece.slice(1, -1), where) });
  }
  if (!parts.some((part) => typeof part !== 'string')) {
    refuse('It has no field, so that every file would have the same name.', template, where);
  }
  return parts;
}

function readField(name: string, where: string): NameField {
  const field = NAME_FIELDS.find((each) => each === name);
  if (field) return field;
  throw new Problem('unknown-name-field', {
    detail: `File names have no field {${name.slice(0, 40)}}. ${
      name === 'date' ? 'A set that is made again comes out under the same names, so that there is no date. ' : ''
    }Use ${NAME_FIELDS.map((each) => `{${each}}`).join(', ')}.`,
    expected: NAME_FIELDS,
    received: name.slice(0, 40),
    where,
  });
}

function refuse(why: string, template: string, where: string): never {
  throw new Problem('file-name-template', {
    detail: `The template cannot be used. ${why} Write one such as {product}_{variant}_{view}_{size}.`,
    expected: '{product}_{variant}_{view}_{size}',
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
        detail: `The template asks for {${part.field}}, and ${what} has none. Give it one, or take the field out of the template.`,
        expected: `{${part.field}} of ${what}`,
      });
    })
    .join('');
}
