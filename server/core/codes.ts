import { Problem } from './problems.ts';
import { CALL_PROBLEMS } from './texts/problems/request.ts';

/** Codes of products, lines, articles, finishes and variants. */
export const CODE_PATTERN = '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$';
export const CODE_LENGTH = 64;
/** Keys of slots and positions. */
export const KEY_PATTERN = '^[a-z0-9-]{1,64}$';
export const NAME_LENGTH = { min: 1, max: 120 } as const;

/** Words that an address uses where a code would otherwise be. */
export const RESERVED: ReadonlySet<string> = new Set(['import', 'indistinguishable', 'current']);
const CODE = new RegExp(CODE_PATTERN);

/**
 * Checks a code that is about to be given to something new.
 * @throws Problem `invalid-code`, `reserved-code`
 */
export function checkCode(code: string, what: string): string {
  if (!CODE.test(code)) {
    throw new Problem('invalid-code', {
      detail: CALL_PROBLEMS['invalid-code'](what),
      expected: CODE_PATTERN,
      received: code.slice(0, 100),
    });
  }
  if (RESERVED.has(code.toLowerCase())) {
    throw new Problem('reserved-code', {
      detail: CALL_PROBLEMS['reserved-code'].inAddresses(code, what),
      expected: `a code other than ${[...RESERVED].join(', ')}`,
      received: code,
    });
  }
  return code;
}

/** Codes that differ only in case are the same code. */
export function foldCode(code: string): string {
  return code.toLowerCase();
}

/** Whether two codes are the same one. A missing code is the same as none. */
export function isSameCode(a: string | undefined, b: string): boolean {
  return a !== undefined && foldCode(a) === foldCode(b);
}

/**
 * Returns a name in its stored form: Unicode NFC, without white space around it.
 * @throws Problem `name-too-long`, `invalid-name`
 */
export function checkName(name: string, where: string): string {
  const kept = name.normalize('NFC').trim();
  const length = [...kept].length;
  if (length > NAME_LENGTH.max) {
    throw new Problem('name-too-long', {
      detail: CALL_PROBLEMS['name-too-long'](length, NAME_LENGTH.max),
      expected: `${NAME_LENGTH.min} to ${NAME_LENGTH.max} characters`,
      received: `${length} characters`,
      where,
    });
  }
  if (length < NAME_LENGTH.min || /\p{Cc}/u.test(kept)) {
    throw new Problem('invalid-name', {
      detail: CALL_PROBLEMS['invalid-name'],
      expected: `${NAME_LENGTH.min} to ${NAME_LENGTH.max} characters`,
      received: kept,
      where,
    });
  }
  return kept;
}

/** A text of several lines in its stored form: Unicode NFC, without white space around it or other control characters. */
export function cleanText(text: string): string {
  return text
    .normalize('NFC')
    .replace(/\r\n?/g, '\n')
    .replace(/[^\P{Cc}\n\t]/gu, ' ')
    .trim();
}

/**
 * Turns free text into a key: lower case, with one hyphen for each run of other characters. Empty when nothing is left.
 */
export function toKey(text: string): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 56);
}

/** The parts of a list with commas between, without blanks around them and without empty ones. */
export function splitList(text: string): string[] {
  return text.split(',').flatMap((part) => part.trim() || []);
}

/**
 * Turns free text into a code and keeps the case. One hyphen replaces each run of characters that no code may have.
 * Empty when nothing is left.
 */
export function toCode(text: string): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^A-Za-z0-9._]+/g, '-')
    .replace(/^[^A-Za-z0-9]+|-+$/g, '')
    .slice(0, CODE_LENGTH);
}

/**
 * Turns free text into a name: cut to the greatest length of a name, without control characters. Empty when nothing is
 * left.
 */
export function toName(text: string): string {
  const clean = text
    .normalize('NFC')
    .replace(/\p{Cc}+/gu, ' ')
    .trim();
  return [...clean].slice(0, NAME_LENGTH.max).join('').trim();
}
