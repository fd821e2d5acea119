import { isHex } from '../../../server/core/colour/srgb.ts';
import type { ColourSource, Finish, Geometry } from '../../../server/core/finish/finish.ts';
import type { GivenColour } from '../../../server/core/finish/read-finish.ts';
import { readNumber, readNumbers, typeNumber } from '../../format.ts';
import { finishesTexts } from '../../texts/finishes.ts';

const texts = finishesTexts.colour;

export type ColourWay = 'hex' | 'lab' | 'xyz' | 'spectrum';

/** Three numbers, as typed. */
export type Three = readonly [string, string, string];

/** The colour as typed. One way of stating it applies; the values of the others are kept in case the user switches back. */
export interface ColourForm {
  /** Whether the stated colour or the colour map applies; empty when not stated. */
  readonly colourFrom: ColourSource | '';
  readonly way: ColourWay;
  readonly hex: string;
  readonly lab: Three;
  /** Y of the white is 100. */
  readonly xyz: Three;
  /** Illuminant and observer: `D65/2deg`. */
  readonly viewing: string;
  readonly geometry: Geometry | '';
  /** First wavelength, and the step between readings, nm. */
  readonly startNm: string;
  readonly stepNm: string;
  /** Reflectances 0–1, in a row. */
  readonly reflectance: string;
}

export const NEW_COLOUR: ColourForm = {
  colourFrom: '',
  way: 'hex',
  hex: '#808080',
  lab: ['', '', ''],
  xyz: ['', '', ''],
  viewing: 'D65/2deg',
  geometry: '',
  startNm: '400',
  stepNm: '10',
  reflectance: '',
};

/** @param shown the colour of the chip, as the starting value for sRGB hex */
export function toColourForm({ colour, colourFrom }: Pick<Finish, 'colour' | 'colourFrom'>, shown: string): ColourForm {
  const form: ColourForm = { ...NEW_COLOUR, colourFrom: colourFrom ?? (colour ? '' : 'map'), hex: shown };
  if (!colour) return form;
  if ('hex' in colour) return { ...form, hex: colour.hex };
  const geometry = colour.geometry ?? '';
  if ('spectrum' in colour) {
    const { startNm, stepNm, values } = colour.spectrum;
    return {
      ...form,
      way: 'spectrum',
      geometry,
      startNm: typeNumber(startNm),
      stepNm: typeNumber(stepNm),
      reflectance: values.join(' '),
    };
  }
  const viewing = `${colour.illuminant}/${colour.observer}`;
  const three = (values: readonly [number, number, number]): Three => [
    typeNumber(values[0]),
    typeNumber(values[1]),
    typeNumber(values[2]),
  ];
  return 'lab' in colour
    ? { ...form, way: 'lab', lab: three(colour.lab), viewing, geometry }
    : { ...form, way: 'xyz', xyz: three(colour.xyz), viewing, geometry };
}

/** The colour as the request states it. The core decides whether it is valid. */
export function toColour(form: ColourForm): GivenColour {
  const geometry = form.geometry === '' ? {} : { geometry: form.geometry };
  const [illuminant = '', observer = ''] = form.viewing.split('/');
  switch (form.way) {
    case 'hex':
      return { hex: form.hex.trim().toLowerCase() };
    case 'lab':
      return { lab: form.lab.map(readNumber), illuminant, observer, ...geometry };
    case 'xyz':
      return { xyz: form.xyz.map(readNumber), illuminant, observer, ...geometry };
    case 'spectrum': {
      const [startNm, stepNm] = [readNumber(form.startNm), readNumber(form.stepNm)];
      return { spectrum: { startNm, stepNm, values: readNumbers(form.reflectance) }, ...geometry };
    }
  }
}

/** The first mistake that keeps the colour from being read; null if there is no mistake. The core checks the values afterwards. */
export function findColourProblem(form: ColourForm): string | null {
  if (form.colourFrom === 'map') return null;
  const areNumbers = (three: Three) => three.every((text) => Number.isFinite(readNumber(text)));
  if (form.way === 'hex' && !isHex(form.hex.trim())) return texts.hexRule;
  if (form.way === 'lab' && !areNumbers(form.lab)) return texts.labRule;
  if (form.way === 'xyz' && !areNumbers(form.xyz)) return texts.xyzRule;
  if (form.way === 'spectrum' && readNumbers(form.reflectance).length === 0) return texts.spectrumRule;
  return null;
}
