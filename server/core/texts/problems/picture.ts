import type { ProblemTexts } from '../../problems.ts';
import { count, pick } from '../format-text.ts';

/** A finish on a slot with this label. */
interface PlacedFinish {
  readonly finish: string;
  readonly label: string;
}

/** Texts about single pictures, swatches, picture sets as they are stored, sheets, and the browser that makes them. */
export const PICTURE_PROBLEMS = {
  'finish-not-allowed': (code: string, label: string) =>
    `${code} is not an option of “${label}”. Choose one of its options, or add this one.`,
  'choice-forbidden': (
    from: PlacedFinish,
    to: PlacedFinish,
    rule: string,
    { unnamed, conflict }: { readonly unnamed: string | null; readonly conflict: string | null },
  ) => {
    const next =
      conflict ??
      (unnamed === null
        ? 'Choose another finish for one of them.'
        : `You did not choose a finish for “${unnamed}”, so it has the one of the default variant. Choose one for it.`);
    return `${from.finish} on “${from.label}” and ${to.finish} on “${to.label}” cannot be combined. The rule: ${rule}. ${next}`;
  },
  'picture-nothing-to-see': {
    noTriangles: (product: string) =>
      `The model of ${product} shows no triangles. Export it with its meshes in the scene.`,
    clear: (finish: string) =>
      `The swatch of ${finish} is completely transparent, so its colour cannot be measured. Ask for its chip.`,
  },
  'unknown-picture-set': (code: string) =>
    `There is no picture set “${code}”. Check the code against the list of picture sets.`,
  'ready-picture-set': (name: string) =>
    `“${name}” is built in and cannot be deleted. Save your own set under its code to replace it.`,
  'unknown-set-file': (product: string, set: string, file: string) =>
    `The set ${set} of ${product} has no file “${file}”. Check the name against the list of files.`,
  'nothing-to-picture': {
    noProducts: (line: string) => `The line ${line} has no products. Add one, and try again.`,
    incomplete: (line: string) =>
      `No product of the line ${line} has both a model and a schedule. Add what is missing, and try again.`,
  },
  'nothing-to-print': {
    noneSold: (line: string) =>
      `The line ${line} currently sells no finish: its range is planned or discontinued. Set a finish to current, and print again.`,
    noCombination: (product: string) =>
      `The rules of the line allow no combination of ${product}. Change a rule or the options, and print again.`,
  },
  'sheet-too-long': {
    card: (count: number, most: number) =>
      `The range has ${count} patterned finishes and metals; a card can show pictures of ${most}. Add panels=0 to the address to print flat colours only.`,
    rows: (rows: number, most: number) =>
      `The schedule has ${rows} rows; a sheet can have ${most}. Print fewer variants.`,
    picturedRows: (rows: number, most: number) =>
      `The schedule has ${rows} rows; a sheet with pictures can have ${most}. Add pictures=0 to the address to print without pictures.`,
    highRow: (product: string, heightMm: number) =>
      `A row of ${product} is ${heightMm} mm high, which is more than a page. The product has too many slots for this sheet. Make slots fixed, or download the catalogue data instead.`,
  },
  'renderer-missing':
    'Dyeworks found no Chromium-family browser, so it cannot make pictures. Install one, or set DYEWORKS_BROWSER to its path, and start again.',
  'renderer-busy': (waiting: number) => `${waiting} pictures are already waiting. Try again in a few seconds.`,
  'renderer-closing': 'The service is shutting down. Try again when it has restarted.',
  'caller-left': 'The connection was closed before the picture was made, so Dyeworks stopped it. Ask again.',
  'renderer-frozen':
    'The browser for pictures froze twice while it made this picture, and was replaced each time. Try again in a minute, with a smaller size or a lighter model. If it freezes again, restart the service or check the graphics driver of its machine.',
  'renderer-failed': {
    driverChanged: 'The browser changed its graphics driver twice while it made the picture. Try again.',
    size: (widthPx: number, heightPx: number) =>
      `A picture of ${widthPx} × ${heightPx} px is not possible. Use whole numbers above 0.`,
    pictureTimeout: (seconds: number) =>
      `The browser did not finish the picture in two attempts of ${seconds} s. Try a smaller size or a lighter model.`,
    pictureCrash:
      'The browser crashed twice while it made the picture. Try again, with a smaller size or a lighter model.',
    sheetTimeout: (seconds: number) =>
      `The browser did not finish the sheet in two attempts of ${seconds} s. Print fewer rows, or print without pictures.`,
    sheetCrash: 'The browser crashed twice while it printed the sheet. Try again, or print fewer rows.',
    noStart: (path: string) =>
      `The browser for pictures (${path}) did not start. Check the installation, or set DYEWORKS_BROWSER to another one.`,
  },
  'swatch-kind': (kind: string) =>
    `Only a panel has a width in mm; the size of a ${kind} is fixed. Leave widthMm out, or use kind=panel.`,
} as const satisfies ProblemTexts;

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
    missingSize: (field: string) => `The size also needs ${field}. Add it.`,
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
      `${describeCollision(first, second, name, others)} Add one of these fields to the template, so that the names differ: {variant}, {view}, {size} or {index}.`,
    byGs1: (first: string, second: string, name: string, others: number) =>
      `${describeCollision(first, second, name, others)} GS1 names contain neither sizes nor finishes. Give each variant its own GTIN and the set one size, or turn off GS1 names.`,
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

/** Texts of the page in the browser that draws the pictures. */
export const STUDIO_PROBLEMS = {
  'renderer-failed': {
    noMaterial: (material: number) =>
      `The studio file has no material ${material}. Report this to the developers of Dyeworks.`,
    emptyKit: 'The finish kit contains no material. Report this to the developers of Dyeworks.',
    layersOfTransparent:
      'A part lets light through, so this product cannot be drawn in layers. Ask for whole pictures.',
    shader: (part: string) =>
      `The graphics driver cannot draw ${part}: its shader failed, and the log has details. Use fewer maps, or update the browser or the graphics driver.`,
  },
  'picture-too-many-maps': (part: string, textures: number, limit: number) =>
    `The graphics driver cannot draw ${part}: it needs ${textures} textures at once, and ${limit} are possible. Remove maps of its extra layers (coat, sheen, iridescence), or make the pictures on another machine.`,
  'picture-too-large': (sidePx: number, pixels: number) =>
    `A part lets light through, so the picture must be drawn in one piece, with at most ${sidePx} px a side and ${pixels} pixels in all. Ask for a smaller one.`,
  'picture-nothing-to-see': {
    hidden: 'Other parts hide these parts from every side, so no view shows them. Choose other parts.',
    noVertices: 'The parts to look at contain no geometry. Choose other parts.',
    notFinite: 'No triangle of the model has a finite position, so there is nothing to show. Export the model again.',
    noTriangles: 'The scene of the model contains no triangles. Export it with its meshes in the scene.',
  },
  'picture-geometry-unreadable': (first: string) =>
    `No part of the model can be read. The first fault: ${first} Export the model again, or ask the supplier for another file.`,
  'picture-map-unreadable': (map: string, fault: string) =>
    `A map of the finish (${map}) cannot be shown: ${fault} Upload it again, or use another one.`,
} as const satisfies ProblemTexts;
