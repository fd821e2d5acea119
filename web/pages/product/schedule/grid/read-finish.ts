import { foldCode } from '../../../../../server/core/codes.ts';
import type { FinishAnswer } from '../../../../../server/http/contracts/finish.ts';

type Named = Pick<FinishAnswer, 'finish' | 'name' | 'names' | 'article'>;

/**
 * Makes the function that reads a finish from a text: its code, or its name in any language, in any case.
 * Where finishes share a name, one of `allowed` is meant.
 * @returns the code as it is stored; null for an unknown text
 */
export function makeFinishReader(
  finishes: Iterable<Named>,
  allowed: readonly string[],
): (text: string) => string | null {
  const preferred = new Set(allowed.map(foldCode));
  const byText = new Map<string, string>();
  const byName = new Map<string, string>();
  for (const { finish, name, names } of finishes) {
    byText.set(foldCode(finish), finish);
    for (const given of [name, ...Object.values(names ?? {})]) {
      const folded = fold(given);
      if (!byName.has(folded) || preferred.has(foldCode(finish))) byName.set(folded, finish);
    }
  }
  return (text) => byText.get(foldCode(text.trim())) ?? byName.get(fold(text)) ?? null;
}

/** Lower case, without accents, with single spaces. */
export function fold(text: string): string {
  return text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase().replace(/\s+/g, ' ').trim();
}

/** The finishes whose code, name or article has every word of a text; the closest first. All for an empty text. */
export function findFinishes<T extends Named>(finishes: readonly T[], text: string): T[] {
  const wanted = fold(text);
  if (wanted === '') return [...finishes];
  const words = wanted.split(' ');
  return finishes
    .flatMap((finish, place) => {
      const texts = [finish.finish, finish.name, ...Object.values(finish.names ?? {})].map(fold);
      const all = [...texts, fold(finish.article ?? '')].join(' ');
      if (!words.every((word) => all.includes(word))) return [];
      const rank = texts.some((one) => one.startsWith(wanted))
        ? 0
        : texts.some((one) => ` ${one}`.includes(` ${wanted}`))
          ? 1
          : 2;
      return [{ finish, rank, place }];
    })
    .sort((a, b) => a.rank - b.rank || a.place - b.place)
    .map(({ finish }) => finish);
}
