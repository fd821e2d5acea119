import type { Finish, FinishMaps, GlossReading, Tile } from '../../../server/core/finish/finish.ts';
import type { MapUse } from '../../../server/core/finish/map-image.ts';
import type { MetalName } from '../../../server/core/finish/metals.ts';
import { readNumber, typeNumber } from '../../format.ts';
import { finishesTexts } from '../../texts/finishes.ts';

const texts = finishesTexts.surface;

/** The surface as typed. Empty fields take their value from the article or the family. */
export interface SurfaceForm {
  /** 0–1. */
  readonly roughness: string;
  /** Gloss units at each angle. */
  readonly gu20: string;
  readonly gu60: string;
  readonly gu85: string;
  readonly metal: 'family' | 'yes' | 'no';
  /** A metal of the table, with which the colour is compared; empty for none. */
  readonly metalName: MetalName | '';
  /** 0–1. */
  readonly clearcoat: string;
  readonly clearcoatRoughness: string;
  /** Index of refraction, 1–2.5. */
  readonly ior: string;
  /** SHA-256 digests of the finish's own images; empty for none. */
  readonly maps: Readonly<Record<MapUse, string>>;
  /** Size of one repeat, mm, and its direction in degrees, counter-clockwise. */
  readonly widthMm: string;
  readonly heightMm: string;
  readonly grainDegrees: string;
}

export const NEW_SURFACE: SurfaceForm = {
  roughness: '',
  gu20: '',
  gu60: '',
  gu85: '',
  metal: 'family',
  metalName: '',
  clearcoat: '',
  clearcoatRoughness: '',
  ior: '',
  maps: { colour: '', normal: '', roughness: '' },
  widthMm: '',
  heightMm: '',
  grainDegrees: '',
};

/** The fields of a finish that this form edits. */
type SurfacePart = Pick<
  Finish,
  'roughness' | 'gloss' | 'metal' | 'metalName' | 'clearcoat' | 'clearcoatRoughness' | 'ior' | 'maps' | 'tile'
>;

export function toSurfaceForm(finish: SurfacePart): SurfaceForm {
  const { gloss, maps, tile, metal } = finish;
  return {
    roughness: typeNumber(finish.roughness),
    gu20: typeNumber(gloss?.gu20),
    gu60: typeNumber(gloss?.gu60),
    gu85: typeNumber(gloss?.gu85),
    metal: metal === undefined ? 'family' : metal ? 'yes' : 'no',
    metalName: finish.metalName ?? '',
    clearcoat: typeNumber(finish.clearcoat),
    clearcoatRoughness: typeNumber(finish.clearcoatRoughness),
    ior: typeNumber(finish.ior),
    maps: { ...NEW_SURFACE.maps, ...maps },
    widthMm: typeNumber(tile?.widthMm),
    heightMm: typeNumber(tile?.heightMm),
    grainDegrees: typeNumber(tile?.grainDegrees),
  };
}

/** The filled-in fields. */
export function toSurface(form: SurfaceForm): SurfacePart {
  const gloss: GlossReading = { ...figure(form, 'gu20'), ...figure(form, 'gu60'), ...figure(form, 'gu85') };
  const maps: FinishMaps = Object.fromEntries(Object.entries(form.maps).filter(([, sha256]) => sha256 !== ''));
  const tile = form.widthMm.trim() === '' ? null : toTile(form);
  return {
    ...figure(form, 'roughness'),
    ...(Object.keys(gloss).length > 0 && { gloss }),
    ...(form.metal !== 'family' && { metal: form.metal === 'yes' }),
    ...(form.metalName !== '' && { metalName: form.metalName }),
    ...figure(form, 'clearcoat'),
    ...figure(form, 'clearcoatRoughness'),
    ...figure(form, 'ior'),
    ...(Object.keys(maps).length > 0 && { maps }),
    ...(tile && { tile }),
  };
}

function toTile(form: SurfaceForm): Tile {
  return {
    widthMm: readNumber(form.widthMm),
    heightMm: readNumber(form.heightMm),
    ...figure(form, 'grainDegrees'),
  };
}

type Figure = {
  [K in keyof SurfaceForm]: string extends SurfaceForm[K] ? K : never;
}[keyof SurfaceForm];

function figure<K extends Figure>(form: SurfaceForm, key: K): { readonly [_ in K]?: number } {
  return form[key].trim() === '' ? {} : ({ [key]: readNumber(form[key]) } as { [_ in K]: number });
}

/** Inclusive bounds of every number, and the message for values outside them. */
const BOUNDS: readonly (readonly [keys: readonly Figure[], low: number, high: number, message: string])[] = [
  [['roughness'], 0, 1, texts.roughnessRule],
  [['gu20', 'gu60', 'gu85'], 0, 2000, texts.glossRule],
  [['clearcoat', 'clearcoatRoughness'], 0, 1, texts.clearcoatRule],
  [['ior'], 1, 2.5, texts.iorRule],
  [['widthMm', 'heightMm'], Number.MIN_VALUE, 100_000, texts.repeatRule],
  [['grainDegrees'], -360, 360, texts.directionRule],
];

/** The first mistake in this part of the form; null if there is no mistake. */
export function findSurfaceProblem(form: SurfaceForm): string | null {
  for (const [keys, low, high, message] of BOUNDS) {
    const wrong = keys.some((key) => {
      const value = readNumber(form[key]);
      return form[key].trim() !== '' && !(value >= low && value <= high);
    });
    if (wrong) return message;
  }
  const [width, height, direction] = [form.widthMm, form.heightMm, form.grainDegrees].map((text) => text.trim() !== '');
  return width !== height || (direction && !width) ? texts.repeatIncomplete : null;
}
