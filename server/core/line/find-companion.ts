import { foldCode } from '../codes.ts';
import type { Article, Companions, Finish } from '../finish/finish.ts';

/**
 * The finish that follows another at a position (thread, piping, zip): what the finish itself says, else its article.
 * @param articles by folded code
 */
export function findCompanion(
  finish: Finish,
  position: string,
  articles: ReadonlyMap<string, Article>,
): string | undefined {
  const article = finish.article === undefined ? undefined : articles.get(foldCode(finish.article));
  return companionAt(finish.companions, position) ?? companionAt(article?.companions, position);
}

/** A position's key may be any word, `constructor` among them. */
function companionAt(companions: Companions | undefined, position: string): string | undefined {
  return companions && Object.hasOwn(companions, position) ? companions[position] : undefined;
}
