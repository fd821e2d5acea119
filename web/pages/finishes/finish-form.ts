import { CODE_PATTERN, KEY_PATTERN, NAME_LENGTH } from '../../../server/core/codes.ts';
import { isHex } from '../../../server/core/colour/srgb.ts';
import type { Family, Finish } from '../../../server/core/finish/finish.ts';
import type { GivenFinish } from '../../../server/core/finish/read-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { type ColourForm, findColourProblem, NEW_COLOUR, toColour, toColourForm } from './colour-form.ts';
import { findSurfaceProblem, NEW_SURFACE, type SurfaceForm, toSurface, toSurfaceForm } from './surface-form.ts';

const tradeTexts = finishesTexts.trade;

/** The two cells of a row, as typed. */
export type Pair = readonly [string, string];

/** Supplier, tags, references and names of a finish, as typed. */
export interface TradeForm {
  /** Language and translated name. */
  readonly names: readonly Pair[];
  readonly supplier: string;
  readonly note: string;
  /** Separated by commas. */
  readonly tags: string;
  readonly system: string;
  readonly systemCode: string;
  readonly texture: string;
  /** Approved screen colour, sRGB hex; empty for none. */
  readonly display: string;
  /** Position and code of the finish that follows there. */
  readonly companions: readonly Pair[];
}

const NEW_TRADE: TradeForm = {
  names: [],
  supplier: '',
  note: '',
  tags: '',
  system: '',
  systemCode: '',
  texture: '',
  display: '',
  companions: [],
};

type TradePart = Pick<Finish, 'names' | 'supplier' | 'note' | 'tags' | 'reference' | 'display' | 'companions'>;

function toTradeForm(finish: TradePart): TradeForm {
  return {
    names: Object.entries(finish.names ?? {}),
    supplier: finish.supplier ?? '',
    note: finish.note ?? '',
    tags: finish.tags?.join(', ') ?? '',
    system: finish.reference?.system ?? '',
    systemCode: finish.reference?.code ?? '',
    texture: finish.reference?.texture ?? '',
    display: finish.display?.hex ?? '',
    companions: Object.entries(finish.companions ?? {}),
  };
}

/** The filled-in fields. */
function toTrade(form: TradeForm): TradePart {
  const [names, companions] = [listPairs(form.names), listPairs(form.companions)];
  const tags = [...new Set(listTags(form.tags))];
  const [supplier, note, display] = [form.supplier.trim(), form.note.trim(), form.display.trim().toLowerCase()];
  const texture = form.texture.trim();
  const reference = { system: form.system.trim(), code: form.systemCode.trim(), ...(texture !== '' && { texture }) };
  return {
    ...(names.length > 0 && { names: Object.fromEntries(names) }),
    ...(supplier !== '' && { supplier }),
    ...(note !== '' && { note }),
    ...(tags.length > 0 && { tags }),
    ...((reference.system !== '' || reference.code !== '' || texture !== '') && { reference }),
    ...(display !== '' && { display: { hex: display } }),
    ...(companions.length > 0 && { companions: Object.fromEntries(companions) }),
  };
}

/** Rows that are not empty. */
function listPairs(pairs: readonly Pair[]): Pair[] {
  return pairs.map(([key, word]): Pair => [key.trim(), word.trim()]).filter(([key, word]) => key !== '' || word !== '');
}

function listTags(tags: string): string[] {
  return tags
    .split(',')
    .map((tag) => tag.trim())
    .filter(Boolean);
}

/** A language as BCP 47 writes it: `de`, `pt-BR`. */
const LANGUAGE = /^[a-zA-Z]{2,3}(-[a-zA-Z0-9]{2,8})*$/;
const CODE = new RegExp(CODE_PATTERN);
const KEY = new RegExp(KEY_PATTERN);
const MAX_TAG_LENGTH = 64;

/** The first mistake in this part of the form; null if there is no mistake. */
function findTradeProblem(form: TradeForm): string | null {
  const [names, companions] = [listPairs(form.names), listPairs(form.companions)];
  const wrongLanguage = names.find(([language]) => !LANGUAGE.test(language));
  if (wrongLanguage) return tradeTexts.languageRule(wrongLanguage[0]);
  const wrongName = names.find(([, name]) => name === '' || [...name].length > NAME_LENGTH.max);
  if (wrongName) return tradeTexts.nameRule(wrongName[0], NAME_LENGTH.max);
  const duplicate = findDuplicate(names) ?? findDuplicate(companions);
  if (duplicate) return tradeTexts.duplicate(duplicate);
  if (form.display.trim() !== '' && !isHex(form.display.trim())) return tradeTexts.screenColourRule;
  if (listTags(form.tags).some((tag) => [...tag].length > MAX_TAG_LENGTH)) return tradeTexts.tagRule(MAX_TAG_LENGTH);
  const wrongCompanion = companions.find(([position, code]) => !KEY.test(position) || !CODE.test(code));
  return wrongCompanion ? tradeTexts.companionRule(wrongCompanion.join(' ')) : null;
}

function findDuplicate(pairs: readonly Pair[]): string | undefined {
  return pairs.find(([key], at) => pairs.findIndex(([other]) => other === key) !== at)?.[0];
}

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

/** The first mistake that keeps the form from being saved; null if there is no mistake. */
export function findProblem(form: FinishForm): string | null {
  const length = [...form.name.trim()].length;
  if (!CODE.test(form.code)) return finishesTexts.form.codeRule;
  if (length < NAME_LENGTH.min || length > NAME_LENGTH.max) return finishesTexts.form.nameRule(NAME_LENGTH.max);
  return findPreviewProblem(form);
}

/** The first mistake that keeps the form from being previewed; a preview needs no code and no name. */
export function findPreviewProblem(form: FinishForm): string | null {
  return findColourProblem(form) ?? findSurfaceProblem(form) ?? findTradeProblem(form);
}
