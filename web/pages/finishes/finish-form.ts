import { CODE_PATTERN, NAME_LENGTH } from '../../../server/core/codes.ts';
import { isHex } from '../../../server/core/colour/srgb.ts';
import { FAMILY_DEFAULTS } from '../../../server/core/finish/families.ts';
import type { Family, Finish } from '../../../server/core/finish/finish.ts';
import type { FinishAnswer } from '../../../server/http/answers.ts';

/** A finish as it stands in the form: what is typed, not yet what it means. */
export interface FinishForm {
  readonly code: string;
  readonly name: string;
  readonly family: Family;
  readonly article: string;
  readonly hex: string;
  /** 0–1 as typed; empty takes the article's or the family's. */
  readonly roughness: string;
  readonly metal: 'family' | 'yes' | 'no';
  /** Whether it delivers the material it came with, as it is, or one made from what is said here. */
  readonly material: 'supplied' | 'made';
}

export const NEW_FINISH: FinishForm = {
  code: '',
  name: '',
  family: 'paint',
  article: '',
  hex: '#808080',
  roughness: '',
  metal: 'family',
  material: 'made',
};

export function toForm(finish: FinishAnswer): FinishForm {
  return {
    code: finish.finish,
    name: finish.name,
    family: finish.family,
    article: finish.article ?? '',
    hex: finish.resolved.hex,
    roughness: finish.roughness === undefined ? '' : String(finish.roughness),
    metal: finish.metal === undefined ? 'family' : finish.metal ? 'yes' : 'no',
    material: finish.supplied ? 'supplied' : 'made',
  };
}

/**
 * The body to store. What the form does not show stays as it was; a colour given in Lab stays so unless another hex
 * was typed, since the hex is only what a screen makes of it.
 */
export function toBody(form: FinishForm, before: FinishAnswer | null): Omit<Finish, 'finish'> {
  const {
    finish: _,
    revision: __,
    resolved: ___,
    roughness: ____,
    metal: _____,
    article: ______,
    supplied,
    ...rest
  } = before ?? {
    ...({} as Partial<FinishAnswer>),
  };
  const hex = form.hex.trim().toLowerCase();
  const sameColour = before !== null && hex === before.resolved.hex.toLowerCase();
  return {
    ...rest,
    ...(supplied && form.material === 'supplied' && { supplied }),
    name: form.name.trim(),
    family: form.family,
    ...(form.article !== '' && { article: form.article }),
    colour: sameColour ? before.colour : { hex },
    ...(form.roughness.trim() !== '' && { roughness: readNumber(form.roughness) }),
    ...(form.metal !== 'family' && { metal: form.metal === 'yes' }),
  };
}

/** What keeps the form from being stored, as a sentence; null when nothing does. */
export function findTrouble(form: FinishForm): string | null {
  const length = [...form.name.trim()].length;
  const roughness = form.roughness.trim() === '' ? 0 : readNumber(form.roughness);
  if (!new RegExp(CODE_PATTERN).test(form.code)) {
    return 'A code has letters, figures, dots, underscores and hyphens, and begins with one of the first two.';
  }
  if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) return 'Give the finish a name, 120 characters at most.';
  if (!isHex(form.hex.trim())) return 'The colour is # and six figures or letters a to f, such as #2f5d73.';
  if (!(roughness >= 0 && roughness <= 1)) return 'Roughness goes from 0, a mirror, to 1, chalk.';
  return null;
}

/** Roughness where the field is left empty, and why. */
export function describeRoughness(family: Family): string {
  const { roughness, note } = FAMILY_DEFAULTS[family];
  return `${roughness}, ${note}`;
}

/** Takes a decimal comma too. */
function readNumber(text: string): number {
  return text.trim() === '' ? Number.NaN : Number(text.trim().replace(',', '.'));
}
