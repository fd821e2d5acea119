import { CODE_PATTERN, NAME_LENGTH } from '../../../server/core/codes.ts';
import type { Family, Finish } from '../../../server/core/finish/finish.ts';
import type { GivenFinish } from '../../../server/core/finish/read-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { type ColourForm, findColourTrouble, NEW_COLOUR, toColour, toColourForm } from './colour-form.ts';
import { findSurfaceTrouble, NEW_SURFACE, type SurfaceForm, toSurface, toSurfaceForm } from './surface-form.ts';
import { findTradeTrouble, NEW_TRADE, type TradeForm, toTrade, toTradeForm } from './trade-form.ts';

/** A finish as it stands in the form: what is typed, not yet what it means. */
export interface FinishForm extends ColourForm, SurfaceForm, TradeForm {
  readonly code: string;
  readonly name: string;
  readonly family: Family;
  readonly article: string;
  /** Whether it delivers the material it came with, as it is, or one made from what is said here. */
  readonly material: 'supplied' | 'made';
}

export const NEW_FINISH: FinishForm = {
  code: '',
  name: '',
  family: 'paint',
  article: '',
  material: 'made',
  ...NEW_COLOUR,
  ...NEW_SURFACE,
  ...NEW_TRADE,
};

export function toForm(finish: FinishAnswer): FinishForm {
  return {
    code: finish.finish,
    name: finish.name,
    family: finish.family,
    article: finish.article ?? '',
    material: finish.supplied ? 'supplied' : 'made',
    ...toColourForm(finish, finish.resolved.hex),
    ...toSurfaceForm(finish),
    ...toTradeForm(finish),
  };
}

/** The body to store. What the form does not show stays as it was. */
export function toBody(form: FinishForm, before: FinishAnswer | null): GivenFinish {
  const { supplied } = before ?? {};
  return {
    ...(before && pickUnshown(before)),
    ...(supplied && form.material === 'supplied' && { supplied }),
    name: form.name.trim(),
    family: form.family,
    ...(form.article !== '' && { article: form.article }),
    ...(form.colourFrom !== '' && { colourFrom: form.colourFrom }),
    ...giveColour(form, before),
    ...toSurface(form),
    ...toTrade(form),
  };
}

/** What a finish may have and no field here writes. */
const UNSHOWN = [
  'metalName',
  'sheen',
  'transmission',
  'volume',
  'specular',
  'anisotropy',
  'iridescence',
  'emissive',
  'status',
] as const satisfies readonly (keyof Finish)[];

/** The colour that is typed; where it comes from the map none is, and one that was stated beside the map stays. */
function giveColour(form: FinishForm, before: FinishAnswer | null): Pick<GivenFinish, 'colour'> {
  if (form.colourFrom !== 'map') return { colour: toColour(form) };
  return before?.colour && before.colourFrom === 'map' ? { colour: before.colour } : {};
}

function pickUnshown(before: FinishAnswer): Partial<Finish> {
  return Object.fromEntries(UNSHOWN.filter((key) => before[key] !== undefined).map((key) => [key, before[key]]));
}

/** What keeps the form from being stored, as a sentence; null when nothing does. */
export function findTrouble(form: FinishForm): string | null {
  const length = [...form.name.trim()].length;
  if (!new RegExp(CODE_PATTERN).test(form.code)) {
    return 'A code has letters, figures, dots, underscores and hyphens, and begins with one of the first two.';
  }
  if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) return 'Give the finish a name, 120 characters at most.';
  return findLookTrouble(form);
}

/** What keeps the form from being looked at. */
export function findLookTrouble(form: FinishForm): string | null {
  return findColourTrouble(form) ?? findSurfaceTrouble(form) ?? findTradeTrouble(form);
}
