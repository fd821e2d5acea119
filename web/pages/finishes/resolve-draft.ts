import { foldCode } from '../../../server/core/codes.ts';
import { checkFinish } from '../../../server/core/finish/check-finish.ts';
import type { Article, Finish } from '../../../server/core/finish/finish.ts';
import { listSpecificationFindings } from '../../../server/core/finish/list-specification-findings.ts';
import { readFinish } from '../../../server/core/finish/read-finish.ts';
import { type RecallCodes, type ResolvedFinish, resolveFinish } from '../../../server/core/finish/resolve-finish.ts';
import { Problem } from '../../../server/core/problems.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { type FinishForm, findLookTrouble, toBody } from './finish-form.ts';

/** What is written, and all that follows from it. */
export interface Draft {
  readonly finish: Finish;
  readonly article: Article | null;
  readonly resolved: ResolvedFinish;
  readonly findings: readonly Finding[];
}

export type DraftOrTrouble =
  | { readonly draft: Draft; readonly trouble: null }
  | { readonly draft: null; readonly trouble: string };

/** Stands for the code of a finish that has none yet. */
const NO_CODE = 'NEW';

/**
 * What the service would make of the form, made here: by the same reading, resolving and checking, so that every figure is
 * seen before anything is saved. While something cannot be read, the sentence says what.
 */
export function resolveDraft(
  form: FinishForm,
  before: FinishAnswer | null,
  articles: readonly Article[],
  recallCodes: RecallCodes,
): DraftOrTrouble {
  const trouble = findLookTrouble(form);
  if (trouble) return { draft: null, trouble };
  const article = articles.find((candidate) => foldCode(candidate.article) === foldCode(form.article)) ?? null;
  // colour and surface do not wait for a code and a name
  const name = form.name.trim() || 'New finish';
  try {
    const finish = readFinish(NO_CODE, { ...toBody(form, before), name }, article);
    const named = { ...finish, finish: form.code || NO_CODE };
    const resolved = resolveFinish(named, article, recallCodes);
    // a map that is still being looked at is no finding
    const { colour } = resolved.maps;
    const waits = colour !== undefined && recallCodes(colour) === null;
    const findings = [...listSpecificationFindings(resolved), ...checkFinish(named, resolved, article)];
    const told = findings.filter(({ code }) => !(waits && code === 'map-not-measured'));
    return { draft: { finish: named, article, resolved, findings: told }, trouble: null };
  } catch (error) {
    if (error instanceof Problem) return { draft: null, trouble: error.message };
    throw error;
  }
}
