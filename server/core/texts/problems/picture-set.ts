import { count, pick } from '../format-text.ts';
import type { ProblemTexts } from './problem-text.ts';

/** Texts about picture sets, the names of their files, and GTINs. */
export const PICTURE_SET_PROBLEMS = {
  'invalid-picture-set': {
    gs1OfSwatches:
      'GS1 names are for trade items, and a finish is not a trade item. Leave gs1Names out of a set of swatches.',
    scaleOfSwatches: 'All swatches have the same size, so they have no common scale of a line. Leave “scale” out.',
    viewsAndSwatches: 'A set shows variants (views) or finishes (swatches), but this one has both. Make two sets.',
    unknownSwatch: (kind: string, kinds: readonly string[]) => `There is no swatch “${kind}”. Use ${kinds.join('; ')}.`,
    unknownView: (view: string, views: readonly string[]) => `There is no view “${view}”. Use ${views.join('; ')}.`,
    emptyList: 'The list is empty. Name at least one entry.',
    listedTwice: (entry: string) => `The list contains “${entry}” twice. Keep one of them.`,
    noSize: (ways: readonly string[]) => `The set has no size. Use ${ways.join('; ')}.`,
    severalSizes: (given: string, ways: readonly string[]) =>
      `A set has one kind of size, but this one has ${given}. Use ${ways.join('; ')}.`,
    missingSize: (field: string) => `The size also needs ${field}.`,
    bleedWithoutPrint: 'Bleed needs a printed size in mm. Leave it out, or give widthMm, heightMm and ppi.',
    tooManyPixels: (widthPx: number, heightPx: number, most: number) =>
      `A picture of ${widthPx} × ${heightPx} px is too large; ${most} pixels are allowed. Make it smaller, or lower the ppi.`,
    swatchNotSquare: (widthPx: number, heightPx: number) =>
      `Swatches are square, but this size is ${widthPx} × ${heightPx} px. Give sizes, or the same length for both sides.`,
    unknownBackground: (text: string) =>
      `“${text}” is not a background colour. Use transparent, white or a colour as #rrggbb.`,
    jpegBackground: 'JPEG cannot be transparent. Use PNG, WebP or TIFF, or a white background.',
    jpegShadow: 'A separate shadow is transparent, and JPEG cannot be. Use PNG, WebP or TIFF.',
    shadowOfSwatches: 'Swatches have no shadow. Leave “shadow” out, or use “without”.',
    qualityOfLossless: (format: string) =>
      `${format} is lossless and has no quality setting. Leave quality out, or use JPEG or WebP.`,
    fillOrder: (min: number, max: number) =>
      `The minimum fill (${min} %) is larger than the maximum fill (${max} %). Swap them.`,
    fieldOfVariants: (field: string) => `Swatches show finishes, which have no {${field}}. Use {finish} instead.`,
    outsideRange: (field: string, value: string, range: string) => `${field} is ${value}. Give ${range}.`,
    notANumber: (field: string, range: string) => `${field} is not a number. Give ${range}.`,
  },
  'file-name-template': {
    tooLong: (length: number, max: number, example: string) =>
      `The file name template has ${length} characters; ${max} are allowed. Use one such as ${example}.`,
    openBrace: (piece: string, example: string) =>
      `The file name template has a brace without a partner in “${piece}”. Use one such as ${example}.`,
    slash: (example: string) =>
      `The file name template contains a slash, which would make folders. Use one such as ${example}.`,
    noField: (example: string) =>
      `The file name template has no field, so all files would have the same name. Use one such as ${example}.`,
  },
  'unknown-name-field': {
    unknown: (field: string, fields: string) => `File names have no field {${field}}. Use ${fields}.`,
    date: (fields: string) =>
      `File names have no field {date}, because a set keeps its file names when it is made again. Use ${fields}.`,
  },
  'name-field-missing': (field: string, what: string) =>
    `The file name template uses {${field}}, but ${what} has none. Add it, or remove the field from the template.`,
  'file-name-empty': (text: string) =>
    `No character of “${text}” can be used in a file name. Use codes in the template, or names in Latin letters.`,
  'file-name-too-long': (name: string, length: number, max: number) =>
    `The file name “${name}…” has ${length} characters; ${max} are allowed. Use fewer fields in the template, or {index} instead of a long one.`,
  'file-names-collide': {
    byTemplate: (first: string, second: string, name: string, others: number) =>
      `${describeCollision(first, second, name, others)} Add a field that differs to the template: {variant}, {view}, {size} or {index}.`,
    byGs1: (first: string, second: string, name: string, others: number) =>
      `${describeCollision(first, second, name, others)} GS1 names contain neither sizes nor finishes. Give each variant its own GTIN and the set one size, or leave gs1Names out.`,
  },
  'invalid-gtin': {
    length: (text: string) => `“${text}” is not a GTIN: a GTIN has 8, 12, 13 or 14 digits. Copy it from the bar code.`,
    checkDigit: (digits: string, expected: number | string, found: string) =>
      `The check digit of ${digits} should be ${expected}, but it is ${found}. Look for a mistyped digit.`,
  },
} as const satisfies ProblemTexts;

function describeCollision(first: string, second: string, name: string, others: number): string {
  const more = others === 0 ? '' : ` ${count(others, 'more file name')} ${pick(others, 'occurs', 'occur')} twice.`;
  return `Two files would have the name ${name}: ${first}; and ${second}.${more}`;
}
