import { glossFromCoat, glossFromRoughness } from '../gloss/gloss-fit.ts';
import { type GlossCase, type GlossVerdict, judgeGloss } from '../gloss/judge-gloss.ts';
import type { GlossReading } from './finish.ts';

/** What is known of a surface before its gloss is read; 0–1 throughout, save the index. */
export type GlossGround = Omit<GlossCase, keyof GlossReading | 'roughness'> & {
  /** What roughness and the coat's would be without a reading. */
  readonly roughness: number;
  readonly clearcoatRoughness: number;
};

export interface ResolvedGloss {
  readonly roughness: number;
  readonly clearcoatRoughness: number;
  /** What the reading came to; null without one. */
  readonly gloss: GlossVerdict | null;
  /** Gloss units at 60° that a meter would read of the result; null for surfaces whose gloss is not read like that. */
  readonly gu60: number | null;
}

/** Takes a gloss reading into roughness, of the coat where there is one, and says what a meter would read of the result. */
export function resolveGloss(reading: GlossReading | undefined, ground: GlossGround): ResolvedGloss {
  const gloss = reading ? judgeGloss({ ...ground, ...reading }) : null;
  const read = gloss && gloss.kind !== 'not-inverted' ? gloss : null;
  const roughness = read?.layer === 'base' ? read.roughness : ground.roughness;
  const clearcoatRoughness = read?.layer === 'clearcoat' ? read.roughness : ground.clearcoatRoughness;
  return { roughness, clearcoatRoughness, gloss, gu60: predict({ ...ground, roughness, clearcoatRoughness }) };
}

function predict(ground: GlossGround): number | null {
  // whether gloss is read of such a surface at all does not depend on the reading
  if (judgeGloss({ ...ground, gu60: 50 }).kind === 'not-inverted') return null;
  return ground.clearcoat > 0
    ? glossFromCoat(ground.clearcoatRoughness, 60, { ...ground, factor: ground.clearcoat })
    : glossFromRoughness(ground.roughness, 60, ground);
}
