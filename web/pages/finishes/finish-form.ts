import { CODE_PATTERN, NAME_LENGTH } from '../../../server/core/codes.ts';
import type { Family, Finish } from '../../../server/core/finish/finish.ts';
import type { GivenFinish } from '../../../server/core/finish/read-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { type ColourForm, findColourTrouble, NEW_COLOUR, toColour, toColourForm } from './colour-form.ts';
import { findSurfaceTrouble, NEW_SURFACE, type SurfaceForm, toSurface, toSurfaceForm } from './surface-form.ts';
import { findTradeTrouble, NEW_TRADE, type TradeForm, toTrade, toTradeForm } from './trade-form.ts';

/** A finish as typed in the form, before it is read. */
export interface FinishForm extends ColourForm, SurfaceForm, TradeForm {
  readonly code: string;
  readonly name: string;
  readonly family: Family;
  readonly article: string;
  /** Whether deliveries use the supplied material, or one made from the fields of this form. */
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

/** The body of the request. Fields that the form does not show keep their values. */
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

/** Fields of a finish that the form does not show. */
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

/** The colour as typed. If it comes from the map, a colour that was stated next to the map is kept. */
function giveColour(form: FinishForm, before: FinishAnswer | null): Pick<GivenFinish, 'colour'> {
  if (form.colourFrom !== 'map') return { colour: toColour(form) };
  return before?.colour && before.colourFrom === 'map' ? { colour: before.colour } : {};
}

function pickUnshown(before: FinishAnswer): Partial<Finish> {
  return Object.fromEntries(UNSHOWN.filter((key) => before[key] !== undefined).map((key) => [key, before[key]]));
}

/** The first mistake that keeps the form from being saved; null when there is none. */
export function findTrouble(form: FinishForm): string | null {
  const length = [...form.name.trim()].length;
  if (!new RegExp(CODE_PATTERN).test(form.code)) return finishesTexts.form.codeRule;
  if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) return finishesTexts.form.nameRule(NAME_LENGTH.max);
  return findPreviewTrouble(form);
}

/** The first mistake that keeps the form from being previewed; a preview needs no code and no name. */
export function findPreviewTrouble(form: FinishForm): string | null {
  return findColourTrouble(form) ?? findSurfaceTrouble(form) ?? findTradeTrouble(form);
}
