import { isHex } from '../../../server/core/colour/srgb.ts';
import type { ColourSource, Finish, Geometry } from '../../../server/core/finish/finish.ts';
import type { GivenColour } from '../../../server/core/finish/read-colour.ts';
import { readNumber, readNumbers, typeNumber } from '../../read-number.ts';

export type ColourWay = 'hex' | 'lab' | 'xyz' | 'spectrum';

/** Three figures as they are typed. */
export type Three = readonly [string, string, string];

/** The colour as it is typed: one of the ways counts, and the others are kept for whoever changes his mind. */
export interface ColourForm {
  /** Where the colour comes from beside a colour map; empty where nobody said. */
  readonly colourFrom: ColourSource | '';
  readonly way: ColourWay;
  readonly hex: string;
  readonly lab: Three;
  /** Y of the white is 100. */
  readonly xyz: Three;
  /** Illuminant and observer: `D65/2deg`. */
  readonly viewing: string;
  readonly geometry: Geometry | '';
  /** Wavelength of the first reading and from one to the next, nm. */
  readonly startNm: string;
  readonly stepNm: string;
  /** Reflectance 0–1, a row of figures. */
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

/** @param shown the colour as a chip shows it, for whoever goes over to hex */
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

/** What is typed, as it is handed in; whether it is a colour the core says. */
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

/** What keeps the colour from being read at all, as a sentence; what the figures come to is checked after that. */
export function findColourTrouble(form: ColourForm): string | null {
  if (form.colourFrom === 'map') return null;
  const areFigures = (three: Three) => three.every((text) => Number.isFinite(readNumber(text)));
  if (form.way === 'hex' && !isHex(form.hex.trim())) {
    return 'The colour is # and six figures or letters a to f, such as #2f5d73.';
  }
  if (form.way === 'lab' && !areFigures(form.lab)) {
    return 'Lab has three figures: L* from 0 to 100, then a* and b*, which may be negative.';
  }
  if (form.way === 'xyz' && !areFigures(form.xyz)) return 'XYZ has three figures; Y of the perfect white is 100.';
  if (form.way === 'spectrum' && readNumbers(form.reflectance).length === 0) {
    return 'Write the reflectance, 0 to 1, of every step of wavelength one after another.';
  }
  return null;
}
