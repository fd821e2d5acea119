import { foldCode } from '../../../server/core/codes.ts';
import { type Lab, labToXyz } from '../../../server/core/colour/lab.ts';
import { checkFinish } from '../../../server/core/finish/check-finish.ts';
import type { Article, Finish, GlossReading } from '../../../server/core/finish/finish.ts';
import { listSpecificationFindings } from '../../../server/core/finish/list-specification-findings.ts';
import { readFinish } from '../../../server/core/finish/read-finish.ts';
import { type RecallCodes, type ResolvedFinish, resolveFinish } from '../../../server/core/finish/resolve-finish.ts';
import { judgeFinish } from '../../../server/core/finish/tolerances.ts';
import { APERTURE_CAVEAT } from '../../../server/core/gloss/gloss-integral.ts';
import { chooseAngle, glossTolerance } from '../../../server/core/gloss/judge-gloss.ts';
import { Problem } from '../../../server/core/problems.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { type FinishForm, findPreviewProblem, toBody } from './finish-form.ts';

const glossTexts = finishesTexts.gloss;

/** The finish in the form, and everything that follows from it. */
export interface Draft {
  readonly finish: Finish;
  readonly article: Article | null;
  readonly resolved: ResolvedFinish;
  readonly findings: readonly Finding[];
}

export type DraftOrProblem =
  | { readonly draft: Draft; readonly problem: null }
  | { readonly draft: null; readonly problem: string };

/** The code of a finish until the user enters one. */
const NO_CODE = 'NEW';

/**
 * Reads, resolves and checks the form as the service would, so that every value is visible before anything is saved.
 * An invalid form gives a message instead of a draft.
 */
export function resolveDraft(
  form: FinishForm,
  before: FinishAnswer | null,
  articles: readonly Article[],
  recallCodes: RecallCodes,
): DraftOrProblem {
  const problem = findPreviewProblem(form);
  if (problem) return { draft: null, problem };
  const article = articles.find((candidate) => foldCode(candidate.article) === foldCode(form.article)) ?? null;
  // a preview needs no code and no name
  const name = form.name.trim() || finishesTexts.form.newName;
  try {
    const finish = readFinish(NO_CODE, { ...toBody(form, before), name }, article);
    const named = { ...finish, finish: form.code || NO_CODE };
    const resolved = resolveFinish(named, article, recallCodes);
    // a map that is still being measured is not a finding
    const { colour } = resolved.maps;
    const isMeasuring = colour !== undefined && recallCodes(colour) === null;
    const findings = [...listSpecificationFindings(resolved), ...checkFinish(named, resolved, article)];
    const reported = findings.filter(({ code }) => !(isMeasuring && code === 'map-not-measured'));
    return { draft: { finish: named, article, resolved, findings: reported }, problem: null };
  } catch (error) {
    if (error instanceof Problem) return { draft: null, problem: error.message };
    throw error;
  }
}

/** Below this ΔE00 a colour outside sRGB looks the same as its nearest sRGB colour. */
export const VISIBLE_DELTA_E = 0.5;

/** The distance between the delivered and the specified colour: its verdict, and the details behind it. */
export function describeDistance({ finish, resolved }: Pick<Draft, 'finish' | 'resolved'>): {
  readonly verdict: string;
  readonly details: readonly string[];
} {
  const { distance } = finishesTexts;
  if (resolved.supplied !== null && !resolved.suppliedChange) return { verdict: distance.supplied, details: [] };
  const { formula, limit, source, difference, within } = judgeFinish(finish, resolved);
  const { delivered, estimated } = resolved;
  if (!delivered || difference === null) return { verdict: distance.notMeasured, details: [] };
  return {
    verdict: distance.verdict(delivered.deltaE.toFixed(1), within),
    details: [
      distance.judged(distance.formulas[formula], difference.toFixed(1), limit, source),
      ...(estimated ? [distance.estimated(estimated.typicalDeltaE, estimated.worstDeltaE)] : []),
      ...describeLevelled(resolved),
      ...(resolved.outOfGamutDeltaE > VISIBLE_DELTA_E ? [distance.outOfGamut] : []),
      ...(resolved.includedLab ? [distance.specularRemoved] : []),
    ],
  };
}

/** How the colour map is changed so that its mean is the specified colour. */
function describeLevelled({ levelled, colourFrom }: Draft['resolved']): string[] {
  if (!levelled) return [];
  if (colourFrom === 'map') return [finishesTexts.colour.meanOfMap(null)];
  const { contrast } = levelled;
  if (contrast === null) return [finishesTexts.distance.multiplied];
  return [finishesTexts.distance.brightened(Math.round(contrast * 100))];
}

/** A colour that a browser shows as well as the screen can, even outside sRGB (CSS Color 4, `color(xyz-d65 …)`). */
export function toCssColour(lab: Lab): string {
  const xyz = labToXyz(lab, 'D65', '2deg').map((value) => (value / 100).toFixed(5));
  return `color(xyz-d65 ${xyz.join(' ')})`;
}

/** Gloss and roughness describe one property: each field shows the value that follows from the other. */
interface GlossDescription {
  /** Sentences, the most important first. */
  readonly sentences: readonly string[];
  /** Placeholder of the gloss field: the gloss units that a meter would read at 60°, rounded. */
  readonly gu60: string;
  /** Placeholders of the roughness fields of the surface and of its clear coat. */
  readonly roughness: string;
  readonly clearcoatRoughness: string;
}

/** Converts a gloss reading to a roughness, or the reverse. Values out of range are reported as findings instead. */
export function describeGloss({ finish, article, resolved }: Omit<Draft, 'findings'>): GlossDescription {
  return {
    sentences: listSentences(finish, article, resolved),
    gu60: resolved.gu60 === null ? '' : resolved.gu60.toFixed(0),
    roughness: formatRoughness(resolved.roughness),
    clearcoatRoughness: resolved.clearcoat > 0 ? formatRoughness(resolved.clearcoatRoughness) : '',
  };
}

function listSentences(finish: Finish, article: Article | null, resolved: ResolvedFinish): string[] {
  if (finish.supplied) return [];
  const { gloss } = resolved;
  const coated = resolved.clearcoat > 0;
  const key = coated ? 'clearcoatRoughness' : 'roughness';
  const layer = coated ? glossTexts.coatLayer : glossTexts.surfaceLayer;
  if (gloss?.kind === 'inverted') {
    const { gu60, tolerance } = gloss;
    const fromArticle = finish.gloss === undefined;
    const [smooth, rough] = listRoughnessBounds(finish, article, key, gu60, tolerance);
    return [
      glossTexts.toRoughness(formatGloss(gloss.gu), gloss.angle, layer, formatRoughness(gloss.roughness), fromArticle),
      glossTexts.toleranceAsRoughness(tolerance, smooth, rough),
      ...adviseAngle(gu60, finish.gloss ?? article?.gloss ?? {}),
      APERTURE_CAVEAT,
    ];
  }
  if (gloss) return [];
  const overridden = finish.gloss ? [glossTexts.overridden(layer)] : [];
  if (resolved.gu60 === null) return [...overridden, explainNoGloss(finish, article)];
  const from = finish[key] !== undefined ? 'finish' : article?.[key] !== undefined ? 'article' : 'family';
  return [
    glossTexts.toReading(layer, formatRoughness(resolved[key]), from, formatGloss(resolved.gu60)),
    glossTexts.tolerance(glossTolerance(resolved.gu60)),
    ...overridden,
    APERTURE_CAVEAT,
  ];
}

/** The roughness at the upper and at the lower end of the gloss tolerance. */
function listRoughnessBounds(
  finish: Finish,
  article: Article | null,
  key: 'roughness' | 'clearcoatRoughness',
  gu60: number,
  tolerance: number,
): readonly [smooth: string, rough: string] {
  const at = (gu: number) =>
    formatRoughness(resolveFinish({ ...finish, gloss: { gu60: Math.max(0, gu) } }, article)[key]);
  return [at(gu60 + tolerance), at(gu60 - tolerance)];
}

/** Recommends the angle that distinguishes this gloss best, unless there is a reading at it. */
function adviseAngle(gu60: number, reading: GlossReading): string[] {
  const angle = chooseAngle(gu60);
  return angle === 60 || reading[`gu${angle}`] !== undefined ? [] : [glossTexts.betterAngle(angle)];
}

/** Finds the reason why gloss does not apply, by resolving the finish with a sample reading. */
function explainNoGloss(finish: Finish, article: Article | null): string {
  const { roughness: _, clearcoatRoughness: __, ...bare } = finish;
  const { gloss } = resolveFinish({ ...bare, gloss: { gu60: 50 } }, article);
  return gloss?.kind === 'not-inverted' ? `${glossTexts.notApplicable} ${gloss.reason}` : glossTexts.notApplicable;
}

function formatGloss(gu: number): string {
  return glossTexts.units(Number(gu.toFixed(1)));
}

function formatRoughness(value: number): string {
  return String(Number(value.toFixed(2)));
}
