import type { Article, Finish, GlossReading } from '../../../server/core/finish/finish.ts';
import { type ResolvedFinish, resolveFinish } from '../../../server/core/finish/resolve-finish.ts';
import { chooseAngle, glossTolerance } from '../../../server/core/gloss/choose-angle.ts';
import { APERTURE_CAVEAT } from '../../../server/core/gloss/gloss-integral.ts';
import type { Draft } from './resolve-draft.ts';

/** Gloss and roughness as two readings of one thing: what one of them makes of the other. */
export interface GlossWords {
  /** Sentences, the most telling first. */
  readonly words: readonly string[];
  /** What stands for the reading while its field is empty: gloss units a meter would read at 60°, whole. */
  readonly gu60: string;
  /** What stands for the roughness of the surface, and of its coat, while that field is empty. */
  readonly roughness: string;
  readonly clearcoatRoughness: string;
}

const QUALICOAT = 'Qualicoat, as quoted in the trade';

/** Says what a gloss reading is written as, or what a meter would read; what is out of reach is left to the findings. */
export function describeGloss({ finish, article, resolved }: Omit<Draft, 'findings'>): GlossWords {
  return {
    words: listWords(finish, article, resolved),
    gu60: resolved.gu60 === null ? '' : resolved.gu60.toFixed(0),
    roughness: short(resolved.roughness),
    clearcoatRoughness: resolved.clearcoat > 0 ? short(resolved.clearcoatRoughness) : '',
  };
}

function listWords(finish: Finish, article: Article | null, resolved: ResolvedFinish): string[] {
  if (finish.supplied) return [];
  const { gloss } = resolved;
  const coated = resolved.clearcoat > 0;
  const key = coated ? 'clearcoatRoughness' : 'roughness';
  const layer = coated ? 'the clear coat' : 'the surface';
  if (gloss?.kind === 'inverted') {
    const { gu60, tolerance } = gloss;
    const from = finish.gloss ? '' : `, by the article’s reading`;
    return [
      `${units(gloss.gu)} at ${gloss.angle}° is written as roughness ${short(gloss.roughness)} of ${layer}${from}.`,
      `The trade’s tolerance there is ±${tolerance} GU at 60° (${QUALICOAT}), which is roughness ${sayRange(finish, article, key, gu60, tolerance)}.`,
      ...adviseAngle(gu60, finish.gloss ?? article?.gloss ?? {}),
      APERTURE_CAVEAT,
    ];
  }
  if (gloss) return [];
  const before = finish.gloss
    ? [`The roughness of ${layer} goes before the reading beside it. Empty it, and the reading is written.`]
    : [];
  if (resolved.gu60 === null) return [...before, sayObstacle(finish, article)];
  const why = finish[key] === undefined ? `, by the ${article?.[key] === undefined ? 'family' : 'article'},` : '';
  return [
    `Roughness ${short(resolved[key])} of ${layer}${why} reads ${units(resolved.gu60)} at 60°; the trade’s tolerance there is ±${glossTolerance(resolved.gu60)} GU (${QUALICOAT}).`,
    ...before,
    APERTURE_CAVEAT,
  ];
}

/** Roughness at either end of the tolerance. */
function sayRange(
  finish: Finish,
  article: Article | null,
  key: 'roughness' | 'clearcoatRoughness',
  gu60: number,
  tolerance: number,
): string {
  const at = (gu: number) => short(resolveFinish({ ...finish, gloss: { gu60: Math.max(0, gu) } }, article)[key]);
  const [smooth, rough] = [at(gu60 + tolerance), at(gu60 - tolerance)];
  return `${smooth} to ${rough}`;
}

/** The angle such a gloss is told apart at, where nobody has read it there. */
function adviseAngle(gu60: number, reading: GlossReading): string[] {
  const angle = chooseAngle(gu60);
  if (angle === 60 || reading[`gu${angle}`] !== undefined) return [];
  return [`Such a gloss is better told apart at ${angle}° (ASTM D523): give that reading too, if you have it.`];
}

/** Why no reading is taken of such a surface, by asking with one. */
function sayObstacle(finish: Finish, article: Article | null): string {
  const { roughness: _, clearcoatRoughness: __, ...bare } = finish;
  const { gloss } = resolveFinish({ ...bare, gloss: { gu60: 50 } }, article);
  return gloss?.kind === 'not-inverted' ? `No gloss is read here. ${gloss.reason}` : 'No gloss is read here.';
}

function units(gu: number): string {
  return `${Number(gu.toFixed(1))} GU`;
}

function short(value: number): string {
  return String(Number(value.toFixed(2)));
}
