import { CODE_PATTERN, NAME_LENGTH } from '../../../server/core/codes.ts';
import { isHex } from '../../../server/core/colour/srgb.ts';
import { FAMILY_DEFAULTS } from '../../../server/core/finish/families.ts';
import type {
  ColourSpecification,
  Family,
  Finish,
  Geometry,
  GlossReading,
  Illuminant,
  Observer,
} from '../../../server/core/finish/finish.ts';
import type { FinishAnswer } from '../../../server/http/answers.ts';

/** A finish as it stands in the form: what is typed, not yet what it means. */
export interface FinishForm {
  readonly code: string;
  readonly name: string;
  readonly family: Family;
  readonly article: string;
  readonly way: ColourWay;
  readonly hex: string;
  /** L*, a* and b* as typed. */
  readonly lab: readonly [string, string, string];
  /** Illuminant and observer: `D65/2deg`. */
  readonly viewing: string;
  readonly geometry: Geometry | '';
  /** 0–1 as typed; empty takes a gloss reading, the article's or the family's. */
  readonly roughness: string;
  /** Gloss units at 60° as typed; other angles stay as they were given. */
  readonly gu60: string;
  readonly metal: 'family' | 'yes' | 'no';
  /** Whether it delivers the material it came with, as it is, or one made from what is said here. */
  readonly material: 'supplied' | 'made';
}

/** How the colour is stated; `measured` is XYZ or a spectrum, which stays as it was handed in. */
export type ColourWay = 'hex' | 'lab' | 'measured';

export const NEW_FINISH: FinishForm = {
  code: '',
  name: '',
  family: 'paint',
  article: '',
  way: 'hex',
  hex: '#808080',
  lab: ['', '', ''],
  viewing: 'D65/2deg',
  geometry: '',
  roughness: '',
  gu60: '',
  metal: 'family',
  material: 'made',
};

export function toForm(finish: FinishAnswer): FinishForm {
  return {
    code: finish.finish,
    name: finish.name,
    family: finish.family,
    article: finish.article ?? '',
    ...toColourForm(finish),
    roughness: finish.roughness === undefined ? '' : String(finish.roughness),
    gu60: finish.gloss?.gu60 === undefined ? '' : String(finish.gloss.gu60),
    metal: finish.metal === undefined ? 'family' : finish.metal ? 'yes' : 'no',
    material: finish.supplied ? 'supplied' : 'made',
  };
}

function toColourForm({
  colour,
  resolved,
}: FinishAnswer): Pick<FinishForm, 'way' | 'hex' | 'lab' | 'viewing' | 'geometry'> {
  const { lab, viewing, geometry } = NEW_FINISH;
  const form = { way: 'hex' as const, hex: resolved.hex, lab, viewing, geometry };
  if ('hex' in colour) return { ...form, hex: colour.hex };
  if (!('lab' in colour)) return { ...form, way: 'measured' };
  const [l, a, b] = colour.lab;
  return {
    ...form,
    way: 'lab',
    lab: [String(l), String(a), String(b)],
    viewing: `${colour.illuminant}/${colour.observer}`,
    geometry: colour.geometry ?? '',
  };
}

/** The body to store. What the form does not show stays as it was. */
export function toBody(form: FinishForm, before: FinishAnswer | null): Omit<Finish, 'finish'> {
  const {
    finish: _,
    revision: __,
    resolved: ___,
    roughness: ____,
    metal: _____,
    article: ______,
    deltaE: _______,
    supplied,
    gloss,
    ...rest
  } = before ?? {
    ...({} as Partial<FinishAnswer>),
  };
  return {
    ...rest,
    ...(supplied && form.material === 'supplied' && { supplied }),
    name: form.name.trim(),
    family: form.family,
    ...(form.article !== '' && { article: form.article }),
    colour: toColour(form, before),
    ...toGloss(form.gu60, gloss),
    ...(form.roughness.trim() !== '' && { roughness: readNumber(form.roughness) }),
    ...(form.metal !== 'family' && { metal: form.metal === 'yes' }),
  };
}

function toColour(form: FinishForm, before: FinishAnswer | null): ColourSpecification {
  if (form.way === 'measured' && before) return before.colour;
  if (form.way !== 'lab') return { hex: form.hex.trim().toLowerCase() };
  const [illuminant, observer] = form.viewing.split('/') as [Illuminant, Observer];
  const [l, a, b] = form.lab.map(readNumber);
  return {
    lab: [l!, a!, b!],
    illuminant,
    observer,
    ...(form.geometry !== '' && { geometry: form.geometry }),
  };
}

function toGloss(gu60: string, before: GlossReading | undefined): { gloss?: GlossReading } {
  const { gu60: _, ...others } = before ?? {};
  const gloss = gu60.trim() === '' ? others : { ...others, gu60: readNumber(gu60) };
  return Object.keys(gloss).length > 0 ? { gloss } : {};
}

/** What keeps the form from being stored, as a sentence; null when nothing does. */
export function findTrouble(form: FinishForm): string | null {
  const length = [...form.name.trim()].length;
  const roughness = form.roughness.trim() === '' ? 0 : readNumber(form.roughness);
  if (!new RegExp(CODE_PATTERN).test(form.code)) {
    return 'A code has letters, figures, dots, underscores and hyphens, and begins with one of the first two.';
  }
  if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) return 'Give the finish a name, 120 characters at most.';
  if (form.way === 'lab' && !form.lab.every((value) => Number.isFinite(readNumber(value)))) {
    return 'Lab has three figures: L* from 0 to 100, then a* and b*, which may be negative.';
  }
  if (form.gu60.trim() !== '' && !(readNumber(form.gu60) >= 0)) return 'Gloss units start at 0; black glass has 100.';
  if (form.way === 'hex' && !isHex(form.hex.trim()))
    return 'The colour is # and six figures or letters a to f, such as #2f5d73.';
  if (!(roughness >= 0 && roughness <= 1)) return 'Roughness goes from 0, a mirror, to 1, chalk.';
  return null;
}

/** Roughness where the field is left empty, and why. */
export function describeRoughness(family: Family): string {
  const { roughness, note } = FAMILY_DEFAULTS[family];
  return `${roughness}, ${note}`;
}

/** Takes a decimal comma and a real minus sign too. */
function readNumber(text: string): number {
  return text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.').replace('−', '-'));
}
