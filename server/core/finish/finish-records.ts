import { KEY_PATTERN } from '../codes.ts';

/** Keys of `names`: languages as BCP 47 writes them, without the rarer parts. */
export const LANGUAGE_PATTERN = '^[a-zA-Z]{2,3}(-[a-zA-Z0-9]{2,8}){0,4}$';
/** Translations of one name: more than there are official languages. */
export const NAMES_LIMIT = 300;
/** As many as a line has positions at most. */
export const COMPANIONS_LIMIT = 200;

const LANGUAGE = new RegExp(LANGUAGE_PATTERN);
const KEY = new RegExp(KEY_PATTERN);

/**
 * A stored definition without entries of `names` and `companions` that no call can store today. Earlier versions stored a key
 * outside its pattern with any value, and every reader of the finish failed on it.
 */
export function dropOddEntries<T extends object>(definition: T): T {
  const { names, companions } = definition as { readonly names?: unknown; readonly companions?: unknown };
  if (names === undefined && companions === undefined) return definition;
  const checked = { ...definition, ...pick('names', names, LANGUAGE), ...pick('companions', companions, KEY) };
  return checked as T;
}

function pick(field: string, record: unknown, keys: RegExp): object {
  if (record === undefined) return {};
  if (typeof record !== 'object' || record === null || Array.isArray(record)) return { [field]: {} };
  const entries = Object.entries(record);
  const kept = entries.filter(([key, value]) => keys.test(key) && typeof value === 'string');
  return kept.length === entries.length ? {} : { [field]: Object.fromEntries(kept) };
}
