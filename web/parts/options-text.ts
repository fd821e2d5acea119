import type { Options } from '../../server/core/line/options.ts';
import { formatKey } from '../format.ts';

/** How many codes are named before the rest is counted. */
const NAMED = 3;

/** Options in words: “grades A, B; wood; OAK-902 and 4 more”. `position` is whose options they narrow. */
export function describeOptions(options: Options | null | undefined, position: string | null): string {
  const parts: string[] = [];
  if (options?.grades?.length) {
    parts.push(`${options.grades.length === 1 ? 'grade' : 'grades'} ${options.grades.join(', ')}`);
  }
  if (options?.families?.length)
    parts.push(options.families.map((family) => formatKey(family).toLowerCase()).join(', '));
  if (options?.tags?.length) parts.push(`tagged ${options.tags.join(', ')}`);
  if (options?.finishes?.length) {
    const more = options.finishes.length - NAMED;
    parts.push(options.finishes.slice(0, NAMED).join(', ') + (more > 0 ? ` and ${more} more` : ''));
  }
  if (parts.length > 0) {
    const text = parts.join('; ');
    return text.charAt(0).toUpperCase() + text.slice(1);
  }
  if (options && Object.values(options).some((list) => list !== undefined)) return 'Nothing yet';
  return position === null ? 'The whole range' : `As ${position}`;
}

type List = 'grades' | 'families' | 'tags' | 'finishes';

/** Takes a word into one of the lists, or out of it; lists left empty go, and with the last one the options. */
export function toggleOption(
  options: Options | null | undefined,
  list: List,
  word: string,
  on: boolean,
): Options | null {
  const before: readonly string[] = options?.[list] ?? [];
  const after = on ? [...before.filter((other) => other !== word), word] : before.filter((other) => other !== word);
  const { [list]: _, ...others } = options ?? {};
  const next = after.length > 0 ? { ...others, [list]: after } : others;
  return Object.keys(next).length > 0 ? (next as Options) : null;
}
