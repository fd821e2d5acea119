import {
  type Approval,
  type Decision,
  judgeStanding,
  type Light,
  listFinishRevisions,
  listVariantRevisions,
  nextRound,
  type Shown,
  type Standing,
  type Subject,
  type SubjectNow,
} from '../core/approval/approval.ts';
import { checkName, foldCode } from '../core/codes.ts';
import { Problem } from '../core/problems.ts';
import type { Context } from './context.ts';
import { describeLookOfFinish, describeLookOfVariant } from './describe-look.ts';
import { type FinishLibrary, loadFinishes, loadProduct, needVariant, unknownFinish } from './load-product.ts';

export interface GivenDecision {
  readonly decision: Decision;
  readonly person: string;
  readonly reason?: string;
  readonly light: Light;
  readonly shown: Shown;
  readonly picture?: string;
}

export interface Approvals extends Standing {
  /** Oldest first. */
  readonly approvals: readonly Approval[];
}

/** @throws Problem `unknown-finish-code`, `unknown-product`, `unknown-variant` */
export async function listApprovals(context: Context, given: Subject): Promise<Approvals> {
  const { subject, now } = await findSubject(context, given);
  const approvals = await context.stores.listApprovals(subject);
  return { ...judgeStanding(approvals, now), approvals };
}

/**
 * Records a decision on what is there now.
 * @throws Problem `reason-needed`, `invalid-name`, and as `listApprovals`
 */
export async function approve(context: Context, given: Subject, decision: GivenDecision): Promise<Approval> {
  const { subject, now } = await findSubject(context, given);
  const person = checkName(decision.person, '/person');
  const reason = decision.reason?.trim();
  if (decision.decision === 'rejected' && !reason) {
    throw new Problem('reason-needed', {
      detail: 'Say why it is rejected, so that the maker knows what to change.',
      where: '/reason',
    });
  }
  return context.stores.addApproval(subject, (known) => ({
    subject,
    decision: decision.decision,
    round: nextRound(known, decision.decision),
    person,
    ...(reason && { reason }),
    light: decision.light,
    shown: decision.shown,
    revisions: now.revisions,
    look: now.look,
    ...(decision.picture && { picture: decision.picture }),
    at: context.now().toISOString(),
  }));
}

/** The subject with codes as they are stored, and what it is judged by now. */
async function findSubject(
  context: Context,
  given: Subject,
): Promise<{ readonly subject: Subject; readonly now: SubjectNow }> {
  if ('finish' in given) {
    const library = await loadFinishes(context);
    const { byCode, resolve } = library;
    const finish = byCode.get(foldCode(given.finish))?.finish;
    if (finish === undefined) throw unknownFinish(given.finish);
    const now = {
      revisions: listFinishRevisions(finish, byCode),
      look: describeLookOfFinish(resolve(finish)),
      levelled: listLevelled(library, [finish]),
    };
    return { subject: { finish }, now };
  }
  const loaded = await loadProduct(context, given.product);
  const variant = needVariant(loaded, given.variant);
  return {
    subject: { product: loaded.product.code, variant: variant.code },
    now: {
      revisions: listVariantRevisions(variant, loaded.finishes.byCode),
      look: describeLookOfVariant(loaded, variant),
      levelled: listLevelled(loaded.finishes, Object.values(variant.choices)),
    },
  };
}

function listLevelled({ byCode, resolve }: FinishLibrary, codes: readonly string[]): string[] {
  return codes.filter((code) => {
    if (!byCode.has(foldCode(code))) return false;
    const { levelled, colourFrom } = resolve(code);
    return levelled !== null && colourFrom === 'specification';
  });
}
