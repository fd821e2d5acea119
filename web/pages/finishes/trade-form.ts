import { CODE_PATTERN, KEY_PATTERN, NAME_LENGTH } from '../../../server/core/codes.ts';
import { isHex } from '../../../server/core/colour/srgb.ts';
import type { Finish } from '../../../server/core/finish/finish.ts';

/** Two words that belong together, as they are typed in a row. */
export type Pair = readonly [string, string];

/** What the trade knows a finish by, as it is typed. */
export interface TradeForm {
  /** Language and name in it. */
  readonly names: readonly Pair[];
  readonly supplier: string;
  readonly note: string;
  /** Between commas. */
  readonly tags: string;
  readonly system: string;
  readonly systemCode: string;
  readonly texture: string;
  /** sRGB hex signed off for screens; empty for none. */
  readonly display: string;
  /** Position of a line and code of the finish that follows there. */
  readonly companions: readonly Pair[];
}

export const NEW_TRADE: TradeForm = {
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

export type TradePart = Pick<Finish, 'names' | 'supplier' | 'note' | 'tags' | 'reference' | 'display' | 'companions'>;

export function toTradeForm(finish: TradePart): TradeForm {
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

/** The fields that are filled in. */
export function toTrade(form: TradeForm): TradePart {
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

/** Rows in which something stands. */
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
const LONGEST_TAG = 64;

/** What keeps this part from being stored, as a sentence; null when nothing does. */
export function findTradeTrouble(form: TradeForm): string | null {
  const [names, companions] = [listPairs(form.names), listPairs(form.companions)];
  const strange = names.find(([language]) => !LANGUAGE.test(language));
  if (strange) return `“${strange[0]}” is no language: write de, fr or pt-BR, and the name beside it.`;
  const nameless = names.find(([, name]) => name === '' || [...name].length > NAME_LENGTH.max);
  if (nameless) return `The name in ${nameless[0]} has 1 to ${NAME_LENGTH.max} characters.`;
  const twice = findTwice(names) ?? findTwice(companions);
  if (twice) return `“${twice}” stands in two rows; one of them is enough.`;
  if (form.display.trim() !== '' && !isHex(form.display.trim())) {
    return 'The colour for screens is # and six figures or letters a to f, such as #2f5d73.';
  }
  const long = listTags(form.tags).find((tag) => [...tag].length > LONGEST_TAG);
  if (long) return `A tag has ${LONGEST_TAG} characters at most; put commas between tags.`;
  const astray = companions.find(([position, code]) => !KEY.test(position) || !CODE.test(code));
  if (astray) {
    return `“${astray.join(' ')}” is no companion: write the position’s key, such as piping, and the code of the finish that follows there.`;
  }
  return null;
}

function findTwice(pairs: readonly Pair[]): string | undefined {
  return pairs.find(([key], at) => pairs.findIndex(([other]) => other === key) !== at)?.[0];
}
