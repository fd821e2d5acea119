import type { Options } from '../../server/core/line/line.ts';
import { formatKey } from '../format.ts';
import { commonTexts } from '../texts/common.ts';

const texts = commonTexts.options;

/** Longer lists of codes end in a count of the rest. */
const NAMED = 3;

/**
 * Options in words: “Grades A, B; wood; OAK-902 and 4 more”.
 * @param position label of the position whose options apply by default; null where the whole range does
 */
export function describeOptions(options: Options | null | undefined, position: string | null): string {
  const parts: string[] = [];
  if (options?.grades?.length) {
    parts.push(texts.gradeList(options.grades));
  }
  if (options?.families?.length)
    parts.push(options.families.map((family) => formatKey(family).toLowerCase()).join(', '));
  if (options?.tags?.length) parts.push(texts.tagList(options.tags));
  if (options?.finishes?.length) {
    parts.push(texts.codeList(options.finishes.slice(0, NAMED), options.finishes.length - NAMED));
  }
  if (parts.length > 0) {
    const text = parts.join('; ');
    return text.charAt(0).toUpperCase() + text.slice(1);
  }
  if (options && Object.values(options).some((list) => list !== undefined)) return texts.nothing;
  return position === null ? texts.wholeRange : texts.sameAs(position);
}

type List = 'grades' | 'families' | 'tags' | 'finishes';

/** Adds a word to one of the lists, or removes it. Empty lists are dropped; without any list the result is null. */
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
