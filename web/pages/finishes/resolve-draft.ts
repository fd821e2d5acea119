import { foldCode } from '../../../server/core/codes.ts';
import { checkFinish } from '../../../server/core/finish/check-finish.ts';
import type { Article, Finish } from '../../../server/core/finish/finish.ts';
import { listSpecificationFindings } from '../../../server/core/finish/list-specification-findings.ts';
import { readFinish } from '../../../server/core/finish/read-finish.ts';
import { type RecallCodes, type ResolvedFinish, resolveFinish } from '../../../server/core/finish/resolve-finish.ts';
import { Problem } from '../../../server/core/problems.ts';
import type { Finding } from '../../../server/core/product/finding.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { type FinishForm, findPreviewTrouble, toBody } from './finish-form.ts';

/** The finish in the form, and everything that follows from it. */
export interface Draft {
  readonly finish: Finish;
  readonly article: Article | null;
  readonly resolved: ResolvedFinish;
  readonly findings: readonly Finding[];
}

export type DraftOrTrouble =
  | { readonly draft: Draft; readonly trouble: null }
  | { readonly draft: null; readonly trouble: string };

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
): DraftOrTrouble {
  const trouble = findPreviewTrouble(form);
  if (trouble) return { draft: null, trouble };
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
    return { draft: { finish: named, article, resolved, findings: reported }, trouble: null };
  } catch (error) {
    if (error instanceof Problem) return { draft: null, trouble: error.message };
    throw error;
  }
}
