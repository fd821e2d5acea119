import type { ProblemTexts } from './problem-text.ts';

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
      `The range has ${count} patterned finishes and metals; a card can show pictures of ${most}. Print it without panels (panels=0).`,
    rows: (rows: number, most: number) =>
      `The schedule has ${rows} rows; a sheet can have ${most}. Print fewer variants.`,
    picturedRows: (rows: number, most: number) =>
      `The schedule has ${rows} rows; a sheet with pictures can have ${most}. Print it without pictures (pictures=0).`,
    highRow: (product: string, heightMm: number) =>
      `A row of ${product} is ${heightMm} mm high, which is more than a page. The product has too many slots for this sheet; use the compact form.`,
  },
  'renderer-missing':
    'Dyeworks found no Chromium-family browser, so it cannot make pictures. Install one, or set DYEWORKS_BROWSER to its path, and start again.',
  'renderer-busy': (waiting: number) => `${waiting} pictures are already waiting. Try again in a few seconds.`,
  'renderer-closing': 'The service is shutting down. Try again when it has restarted.',
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
