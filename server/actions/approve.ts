import {
  type Approval,
  type ApprovedLook,
  type Decision,
  describeFinishLook,
  describeKeep,
  type FinishLook,
  getFinishRevision,
  judgeStanding,
  type Light,
  listVariantRevisions,
  nextRound,
  type Shown,
  type Standing,
  type Subject,
  type SubjectNow,
} from '../core/approval/approval.ts';
import { canonical } from '../core/canonical.ts';
import { checkName, foldCode } from '../core/codes.ts';
import type { Family } from '../core/finish/finish.ts';
import type { ResolvedFinish } from '../core/finish/resolve-finish.ts';
import type { Stores } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { directionOf, type Slot } from '../core/product/slot.ts';
import type { Variant } from '../core/schedule/schedule.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import { digestBytes } from './caching.ts';
import type { Context } from './context.ts';
import { getLine } from './edit-line.ts';
import { giveTurn } from './in-turns.ts';
import { loadFinishes, unknownFinish } from './load-finishes.ts';
import { loadProduct } from './load-product.ts';
import { type FinishLibrary, type LoadedProduct, requireSameProduct, requireVariant } from './loaded-product.ts';

interface GivenDecision {
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

export interface VariantStanding extends Standing {
  readonly variant: string;
}

/** Variants that are judged without a turn for others. */
const VARIANTS_AT_ONCE = 100;

/** Where each variant of a product stands that anyone decided about. @throws Problem `unknown-product` */
export async function listVariantStandings(context: Context, product: string): Promise<VariantStanding[]> {
  const loaded = await loadProduct(context, product);
  const approvals = await context.stores.listVariantApprovals(loaded.product.code);
  const standings: VariantStanding[] = [];
  for (const [at, variant] of (loaded.schedule?.schedule.variants ?? []).entries()) {
    if (at % VARIANTS_AT_ONCE === 0) await giveTurn();
    const decided = approvals.get(foldCode(variant.code));
    if (decided) {
      standings.push({ variant: variant.code, ...judgeStanding(decided, describeVariantNow(loaded, variant)) });
    }
  }
  return standings;
}

export interface FinishStanding extends Standing {
  readonly finish: string;
}

/** Where each finish in the range of a line stands that anyone decided about. @throws Problem `unknown-line` */
export async function listRangeStandings(context: Context, code: string): Promise<FinishStanding[]> {
  const [{ range }, library, approvals] = await Promise.all([
    getLine(context, code),
    loadFinishes(context),
    context.stores.listFinishApprovals(),
  ]);
  return range.flatMap(({ finish }): FinishStanding[] => {
    const decided = approvals.get(foldCode(finish));
    if (!decided || !library.byCode.has(foldCode(finish))) return [];
    return [{ finish, ...judgeStanding(decided, describeFinishNow(library, finish)) }];
  });
}

/**
 * Records a decision on a finish or a variant as it is now.
 * @throws Problem `reason-needed`, `invalid-name`, and as `listApprovals`
 */
export async function approve(context: Context, given: Subject, decision: GivenDecision): Promise<Approval> {
  const { subject, now, requireSame } = await findSubject(context, given);
  const person = checkName(decision.person, '/person');
  const reason = decision.reason?.trim();
  if (decision.decision === 'rejected' && !reason) {
    throw new Problem('reason-needed', {
      detail: FINISH_PROBLEMS['reason-needed'],
      where: '/reason',
    });
  }
  const decide = (known: readonly Approval[]): Approval => ({
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
  });
  return context.stores.transaction(async (tx) => {
    await requireSame(tx);
    return tx.addApproval(subject, decide);
  });
}

/**
 * The subject with its stored codes, and its current revisions and look. `requireSame` checks in a transaction that it was
 * not deleted since then, even if a later one has its code.
 */
async function findSubject(
  context: Context,
  given: Subject,
): Promise<{
  readonly subject: Subject;
  readonly now: SubjectNow;
  readonly requireSame: (tx: Stores) => Promise<unknown>;
}> {
  if ('finish' in given) {
    const library = await loadFinishes(context);
    const { byCode } = library;
    const finish = byCode.get(foldCode(given.finish))?.finish;
    if (finish === undefined) throw unknownFinish(given.finish);
    const now = describeFinishNow(library, finish);
    const requireSame = async (tx: Stores) => {
      const stored = await tx.getFinish(finish);
      // revisions count on under the same code, so a lower one is of this finish
      const entries = stored ? await tx.getFinishHistory(finish) : [];
      const { revision } = byCode.get(foldCode(finish))!;
      if (!stored || entries.some((entry) => entry.what === 'deleted' && entry.revision >= revision)) {
        throw unknownFinish(finish);
      }
    };
    return { subject: { finish }, now, requireSame };
  }
  const loaded = await loadProduct(context, given.product);
  const variant = requireVariant(loaded, given.variant);
  return {
    subject: { product: loaded.product.code, variant: variant.code },
    now: describeVariantNow(loaded, variant),
    requireSame: (tx) => requireSameProduct(tx, loaded),
  };
}

function describeFinishNow(library: FinishLibrary, finish: string): SubjectNow {
  return {
    revisions: getFinishRevision(finish, library.byCode),
    look: describeLookOfFinish(library.resolve(finish)),
    levelled: listLevelled(library, [finish]),
  };
}

function describeVariantNow(loaded: LoadedProduct, variant: Variant): SubjectNow {
  return {
    revisions: listVariantRevisions(variant, loaded.finishes.byCode),
    look: describeLookOfVariant(loaded, variant),
    levelled: listLevelled(loaded.finishes, Object.values(variant.choices)),
  };
}

/** Digests of looks, of which a schedule has each in many rows. */
const finishLooks = new WeakMap<ResolvedFinish, string>();

function digestFinish(resolved: ResolvedFinish): string {
  const known = finishLooks.get(resolved) ?? digestBytes(describeFinishLook(resolved));
  finishLooks.set(resolved, known);
  return known;
}

function listLevelled({ byCode, resolve }: FinishLibrary, codes: readonly string[]): string[] {
  return codes.filter((code) => {
    if (!byCode.has(foldCode(code))) return false;
    const { levelled, colourFrom } = resolve(code);
    return levelled !== null && colourFrom === 'specification';
  });
}

/** The look of a finish, as an approval stores it. */
function describeLookOfFinish(resolved: ResolvedFinish): ApprovedLook {
  return { worn: [{ finish: resolved.finish, look: digestBytes(describeFinishLook(resolved)) }] };
}

/** The look of a variant, as an approval stores it: the finish and its direction in each slot, the model and its mount. */
function describeLookOfVariant(loaded: LoadedProduct, { choices }: Variant): ApprovedLook {
  const { model, product, finishes } = loaded;
  const slots = new Map(loaded.slots.map((slot) => [slot.slot, slot]));
  return {
    model: model && { revision: model.revision, sha256: model.sha256 },
    mount: product.mount,
    worn: Object.entries(choices).flatMap(([key, code]): FinishLook[] => {
      const slot = slots.get(key);
      if (!slot) return [];
      const resolved = finishes.resolve(code);
      return [
        {
          finish: resolved.finish,
          look: digestFinish(resolved),
          on: describeSlot(slot, resolved.family),
        },
      ];
    }),
  };
}

/** Rows of a schedule share their slots: each is described once for each family. */
const describedSlots = new WeakMap<Slot, Map<Family, FinishLook['on']>>();

function describeSlot(slot: Slot, family: Family): FinishLook['on'] {
  const described = describedSlots.get(slot) ?? new Map<Family, FinishLook['on']>();
  describedSlots.set(slot, described);
  const look = described.get(family) ?? describeSlotNow(slot, family);
  described.set(family, look);
  return look;
}

function describeSlotNow(slot: Slot, family: Family): FinishLook['on'] {
  const { slot: key, label, fixed, primitives } = slot;
  const grainDegrees = directionOf(slot, family);
  const covers = digestBytes(canonical(primitives));
  return { slot: key, label, fixed, grainDegrees, keeps: digestBytes(describeKeep(slot)), covers };
}
