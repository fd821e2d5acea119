import { fillNameTemplate, readNameTemplate, toFileName } from '../../../server/core/picture/file-name.ts';
import type { SwatchKind, View } from '../../../server/core/picture/picture.ts';
import {
  DEFAULT_NAMES,
  DEFAULT_SWATCH_NAMES,
  FORMAT_ENDINGS,
  listFrameSizes,
  type PictureSet,
  type SetFormat,
  type SetShadow,
} from '../../../server/core/picture/picture-set.ts';
import { type GivenPictureSet, readPictureSet } from '../../../server/core/picture/read-picture-set.ts';
import { Problem } from '../../../server/core/problems.ts';
import type { PictureSetAnswer } from '../../../server/http/contracts/picture-set.ts';
import { readNumber, readNumbers, typeNumber } from '../../format.ts';
import { pictureSetsTexts as texts } from '../../texts/pictures.ts';

/** A picture set as the user types it: numbers are text until they are read. */
export interface SetForm {
  readonly code: string;
  readonly name: string;
  readonly of: 'variants' | 'finishes';
  readonly views: readonly View[];
  /** Slot keys, separated by commas, spaces or semicolons. */
  readonly closeViews: string;
  readonly swatches: readonly SwatchKind[];
  readonly sizing: 'squares' | 'pixels' | 'print';
  /** Side lengths of squares, px. */
  readonly sizes: string;
  readonly widthPx: string;
  readonly heightPx: string;
  readonly widthMm: string;
  readonly heightMm: string;
  readonly ppi: string;
  readonly bleedMm: string;
  readonly format: SetFormat;
  readonly quality: string;
  readonly ground: 'white' | 'transparent' | 'colour';
  /** sRGB hex of a custom background. */
  readonly hex: string;
  readonly shadow: SetShadow;
  readonly minPercent: string;
  readonly maxPercent: string;
  readonly scale: 'product' | 'line';
  readonly names: string;
  readonly gs1Names: boolean;
}

export const NEW_SET: SetForm = {
  code: '',
  name: '',
  of: 'variants',
  views: ['front', 'three-quarter'],
  closeViews: '',
  swatches: ['chip', 'sphere'],
  sizing: 'squares',
  sizes: '2048',
  widthPx: '',
  heightPx: '',
  widthMm: '',
  heightMm: '',
  ppi: '300',
  bleedMm: '3',
  format: 'jpg',
  quality: '',
  ground: 'white',
  hex: '#',
  shadow: 'with',
  minPercent: '75',
  maxPercent: '90',
  scale: 'product',
  names: '',
  gs1Names: false,
};

const CLOSE = 'slot:';

export function toForm(set: PictureSetAnswer): SetForm {
  const { views = NEW_SET.views, swatches, ground = 'white', fill } = set;
  const plain = ground === 'white' || ground === 'transparent';
  return {
    ...NEW_SET,
    code: set.code,
    name: set.name,
    of: swatches ? 'finishes' : 'variants',
    views: views.filter((view) => !view.startsWith(CLOSE)) as View[],
    closeViews: views.flatMap((view) => (view.startsWith(CLOSE) ? [view.slice(CLOSE.length)] : [])).join(', '),
    swatches: (swatches as SwatchKind[]) ?? NEW_SET.swatches,
    sizing: set.sizes ? 'squares' : set.widthPx !== undefined ? 'pixels' : 'print',
    sizes: set.sizes?.join(', ') ?? NEW_SET.sizes,
    widthPx: typeNumber(set.widthPx),
    heightPx: typeNumber(set.heightPx),
    widthMm: typeNumber(set.widthMm),
    heightMm: typeNumber(set.heightMm),
    ppi: set.ppi === undefined ? NEW_SET.ppi : String(set.ppi),
    bleedMm: set.bleedMm === undefined ? NEW_SET.bleedMm : String(set.bleedMm),
    format: set.format,
    quality: typeNumber(set.quality),
    ground: plain ? ground : 'colour',
    hex: plain ? NEW_SET.hex : ground,
    shadow: set.shadow ?? NEW_SET.shadow,
    minPercent: fill ? String(fill.minPercent) : NEW_SET.minPercent,
    maxPercent: fill ? String(fill.maxPercent) : NEW_SET.maxPercent,
    scale: set.scale ?? NEW_SET.scale,
    names: set.names ?? '',
    gs1Names: set.gs1Names ?? false,
  };
}

/** The request body. Fields that do not apply to the chosen kind of set and size are left out. */
export function toBody(form: SetForm): GivenPictureSet {
  const ofFinishes = form.of === 'finishes';
  const { minPercent, maxPercent } = form;
  return {
    name: form.name,
    ...(ofFinishes ? { swatches: form.swatches } : { views: [...form.views, ...listCloseViews(form)] }),
    ...toSize(form),
    format: form.format,
    ...(isLossy(form) && form.quality.trim() !== '' && { quality: readNumber(form.quality) }),
    ground: form.ground === 'colour' ? form.hex.trim() : form.ground,
    shadow: ofFinishes ? 'without' : form.shadow,
    ...(!ofFinishes && { fill: { minPercent: readNumber(minPercent), maxPercent: readNumber(maxPercent) } }),
    ...(!ofFinishes && { scale: form.scale, gs1Names: form.gs1Names }),
    ...(form.names.trim() !== '' && { names: form.names.trim() }),
  };
}

/** Whether the format has a quality. */
export function isLossy({ format }: Pick<SetForm, 'format'>): boolean {
  return format === 'jpg' || format === 'webp';
}

function listCloseViews({ closeViews }: SetForm): string[] {
  return closeViews
    .split(/[\s,;]+/)
    .filter(Boolean)
    .map((slot) => CLOSE + slot);
}

function toSize(form: SetForm): Partial<GivenPictureSet> {
  switch (form.sizing) {
    case 'squares':
      return { sizes: readNumbers(form.sizes) };
    case 'pixels':
      return { widthPx: readNumber(form.widthPx), heightPx: readNumber(form.heightPx) };
    case 'print':
      return {
        widthMm: readNumber(form.widthMm),
        heightMm: readNumber(form.heightMm),
        ppi: readNumber(form.ppi),
        bleedMm: form.bleedMm.trim() === '' ? 0 : readNumber(form.bleedMm),
      };
  }
}

type ReadForm = { readonly set: PictureSet } | { readonly problem: string };

/** Reads the form as the service would, so that mistakes show before anything is sent. */
export function readForm(form: SetForm): ReadForm {
  try {
    return { set: readPictureSet(form.code, toBody(form)) };
  } catch (error) {
    if (error instanceof Problem) return { problem: error.message };
    throw error;
  }
}

/** An invented product that shows the result of a file name template. */
const EXAMPLE = {
  product: 'CHAIR-1',
  line: 'chairs',
  gtin: '06291041500213',
  index: '01',
} as const;

/** The name of the set's first file; null when the form or its template is invalid. */
export function nameExample(form: SetForm): string | null {
  const read = readForm({ ...form, code: form.code || 'set', name: form.name || 'Set' });
  if ('problem' in read) return null;
  const { set } = read;
  const [size] = listFrameSizes(set.frame);
  const { widthPx, heightPx } = size!;
  const ofFinishes = set.subject.kind === 'finishes';
  const view = set.subject.kind === 'finishes' ? set.subject.swatches[0]! : set.subject.views[0]!;
  try {
    const stem = fillNameTemplate(
      readNameTemplate(set.names, '/names'),
      {
        ...EXAMPLE,
        ...(ofFinishes
          ? { finish: 'OAK', name: texts.exampleNames.finish }
          : { variant: 'V01', finish: 'OAK-BLK', name: texts.exampleNames.variant }),
        view: view.replace(':', '-'),
        size: widthPx === heightPx ? String(widthPx) : `${widthPx}x${heightPx}`,
        format: set.format,
      },
      'the example',
    );
    return toFileName(stem, FORMAT_ENDINGS[set.format]);
  } catch (error) {
    if (error instanceof Problem) return null;
    throw error;
  }
}

/** The template that applies while the field is empty. */
export function getDefaultNames({ of }: Pick<SetForm, 'of'>): string {
  return of === 'finishes' ? DEFAULT_SWATCH_NAMES : DEFAULT_NAMES;
}
