import { count, formatNumber } from '../../server/core/texts/format-text.ts';

/** Texts of the page of picture sets, and of picture sets wherever they are described. */
export const pictureSetsTexts = {
  heading: 'Picture sets',
  intro:
    'A picture set defines the pictures for one recipient: views, sizes, format and file names. Make the pictures on the page of a product.',
  add: 'Add picture set',
  columns: { set: 'Set', shows: 'Subject', size: 'Size', format: 'Format', background: 'Background' },
  builtIn: 'built-in',
  replacesBuiltIn: 'replaces the built-in set',

  // outcomes
  saved: (name: string) => `“${name}” is saved.`,
  deleted: (name: string) => `“${name}” is deleted.`,
  restored: 'The built-in set is restored.',
  codeTaken: (code: string) =>
    `Another picture set already uses the code ${code}. Choose a different code, or change that set.`,

  // form
  subject: 'Pictures of',
  subjects: { variants: 'All variants in the schedule', finishes: 'All finishes in the schedule' },
  closeUps: 'Close-ups of slots',
  closeUpsExample: 'such as seat, legs',
  minFill: 'Minimum fill, %',
  maxFill: 'Maximum fill, %',
  scale: 'Scale',
  scales: { product: 'Each product fills the frame', line: 'One scale for the whole line' },
  sizing: 'Size',
  sizings: { squares: 'Square, in px', pixels: 'Width and height, in px', print: 'Print, in mm' },
  sidesPx: 'Side lengths, px',
  widthPx: 'Width, px',
  heightPx: 'Height, px',
  widthMm: 'Width, mm',
  heightMm: 'Height, mm',
  ppi: 'Resolution, ppi',
  bleedMm: 'Bleed, mm',
  printPixels: (widthPx: number, heightPx: number) => `${widthPx} × ${heightPx} px, including bleed.`,
  formats: { jpg: 'JPEG', png: 'PNG, lossless', webp: 'WebP', tiff: 'TIFF, lossless' },
  quality: 'Quality, 1–100',
  backgrounds: { white: 'White', transparent: 'Transparent', colour: 'Custom colour' },
  backgroundHex: 'Background, sRGB hex',
  shadow: 'Shadow',
  shadows: { with: 'In the picture', without: 'None', separate: 'Separate file' },
  fileNames: 'File names',
  placeholders: (names: readonly string[]) => `Fields: ${names.map((name) => `{${name}}`).join(' ')}`,
  exampleNames: { variant: 'Oak and black', finish: 'Oak' },
  fileNameExample: (fileName: string) => `Example: ${fileName}`,
  gs1Names: 'Use GS1 names for variants with a GTIN',
  saveSet: 'Save picture set',
  replaceBuiltIn: 'Replace built-in set',
  restoreBuiltIn: 'Restore built-in set',
  duplicate: 'Duplicate',
  deleteSet: 'Delete picture set',

  // descriptions
  views: 'Views',
  viewNames: {
    front: 'Front',
    'three-quarter': 'Three-quarter',
    'three-quarter-left': 'Three-quarter left',
    side: 'Side',
    back: 'Back',
    top: 'Top',
  },
  closeUpOf: (slot: string) => `Close-up of ${slot}`,
  swatches: 'Swatches',
  swatchNames: { chip: 'Chip', sphere: 'Sphere', panel: 'Panel', cutting: 'Cutting' },
  swatchList: (names: readonly string[]) => `Swatches: ${names.join(', ')}`,
  squares: (sidesPx: readonly number[]) => `${sidesPx.map((side) => `${side} × ${side}`).join(', ')} px`,
  pixels: (widthPx: number, heightPx: number) => `${widthPx} × ${heightPx} px`,
  print: (widthMm: number, heightMm: number, ppi: number, bleedMm: number) =>
    `${widthMm} × ${heightMm} mm at ${ppi} ppi${bleedMm > 0 ? `, ${bleedMm} mm bleed` : ''}`,
  shortFormats: { png: 'PNG', webp: 'WebP', jpg: 'JPEG', tiff: 'TIFF' },
  withQuality: (format: string, quality: number) => `${format}, quality ${quality}`,
  onBackground: (background: string) => `On ${background}`,
  white: 'white',
  shadowNotes: { with: 'with shadow', without: 'no shadow', separate: 'shadow in a separate file' },
} as const;

/** Texts of a job that makes pictures: its controls, its progress and its outcome. */
export const pictureJobTexts = {
  size: 'Size, px',
  format: 'Format',
  formats: { webp: 'WebP', png: 'PNG', jpg: 'JPEG on white' },
  progress: 'Progress',
  skipped: 'Skipped products',
  failed: 'Failed pictures',
  showAll: 'Show all in order',
  showMoreOf: (total: number) => `Show more of ${count(total, 'picture')}`,
  connectionLost: 'The connection was lost, but the job continues. Reload the page to see its progress.',

  // states
  queued: (done: number, total: number) => `${ratio(done, total)}. Waiting for another job to finish.`,
  starting: (done: number, total: number) => `${ratio(done, total)}. The first pictures take the longest.`,
  running: (done: number, total: number, timeLeft: string) => `${ratio(done, total)}, ${timeLeft}.`,
  allDone: (total: number) => {
    if (total === 0) return 'There are no pictures to make.';
    return total === 1 ? 'The picture is done.' : `All ${formatNumber(total)} pictures are done.`;
  },
  someFailed: (total: number, failures: number) =>
    `${ratio(total - failures, total)} ${total - failures === 1 ? 'is' : 'are'} done; ${formatNumber(failures)} failed.`,
  allFailed: (total: number) => (total === 1 ? 'The picture failed.' : `All ${formatNumber(total)} pictures failed.`),
  cancelled: (done: number, total: number) => `Cancelled after ${ratio(done, total)}. Finished pictures are kept.`,

  // time left
  fewSecondsLeft: 'a few seconds left',
  secondsLeft: (seconds: number) => `about ${count(seconds, 'second')} left`,
  minutesLeft: (minutes: number) => `about ${count(minutes, 'minute')} left`,
  hoursLeft: (hours: number, minutes: number) =>
    `about ${count(hours, 'hour')}${minutes === 0 ? '' : ` ${count(minutes, 'minute')}`} left`,
} as const;

function ratio(done: number, total: number): string {
  return `${formatNumber(done)} of ${count(total, 'picture')}`;
}
