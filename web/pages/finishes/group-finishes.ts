import type { Article } from '../../../server/core/finish/finish.ts';
import type { Line } from '../../../server/core/line/line.ts';
import { capitalise } from '../../../server/core/texts/format-text.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { formatKey } from '../../format.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { lineTexts } from '../../texts/line.ts';

interface FinishGroup {
  readonly key: string;
  readonly title: string;
  /** Family and composition of an article; null for a family. */
  readonly note: string | null;
  readonly finishes: readonly FinishAnswer[];
}

/** Groups finishes by article, or by family if they have no article, in the order in which each first appears. */
export function groupFinishes(finishes: readonly FinishAnswer[], articles: readonly Article[]): FinishGroup[] {
  const known = new Map(articles.map((article) => [article.article, article]));
  const groups = new Map<string, FinishAnswer[]>();
  for (const finish of finishes) {
    const key = `${finish.family} ${finish.article ?? ''}`;
    groups.set(key, [...(groups.get(key) ?? []), finish]);
  }
  return [...groups].map(([key, members]) => {
    const { family, article: code } = members[0]!;
    const article = code === undefined ? undefined : known.get(code);
    const familyName = formatKey(family);
    return {
      key,
      title: article ? article.name : familyName,
      note: article ? [familyName, article.composition].filter(Boolean).join(', ') : null,
      finishes: members,
    };
  });
}

/** The properties that an article gives to its finishes, as sentences. */
export function describeArticle(article: Article): string[] {
  const { composition, tile, threadsPerCm, gloss, roughness, clearcoat, metal, companions = {} } = article;
  const texts = finishesTexts.article;
  const surface = [
    roughness !== undefined && texts.roughness(roughness),
    ...([20, 60, 85] as const).map((angle) => {
      const gu = gloss?.[`gu${angle}`];
      return gu !== undefined && texts.gloss(gu, angle);
    }),
    clearcoat !== undefined && texts.clearcoat(clearcoat),
    metal !== undefined && (metal ? texts.metal : texts.notMetal),
  ].filter((part) => part !== false);
  const cloth = [
    tile && texts.repeat(tile.widthMm, tile.heightMm, tile.grainDegrees ?? 0),
    threadsPerCm !== undefined && texts.threads(threadsPerCm),
  ].filter(Boolean);
  const companionList = Object.entries(companions).map(([position, finish]) => texts.companion(finish, position));
  return [
    composition && `${composition.replace(/\.$/, '')}.`,
    cloth.length > 0 && toSentence(cloth.join('; ')),
    surface.length > 0 && toSentence(surface.join(', ')),
    companionList.length > 0 && texts.companions(companionList),
  ].filter((sentence) => typeof sentence === 'string');
}

/** The price grades of a finish: `grade A in quillmere, planned`. A single line is not named. */
export function describeGrades(finish: string, lines: readonly Line[]): string | null {
  const { gradeOf } = finishesTexts.sample;
  const grades = lines.flatMap(({ line, range }) => {
    const entry = range.find((candidate) => candidate.finish === finish);
    if (!entry) return [];
    const status = entry.status === 'current' ? '' : `, ${lineTexts.statuses[entry.status].toLowerCase()}`;
    return [gradeOf(entry.grade, lines.length > 1 ? line : null) + status];
  });
  return grades.length === 0 ? null : grades.join('; ');
}

function toSentence(text: string): string {
  return `${capitalise(text)}.`;
}
