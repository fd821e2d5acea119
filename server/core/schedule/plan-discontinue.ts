import { CODE_LENGTH, foldCode, isSameCode, NAME_LENGTH } from '../codes.ts';
import { describeRule, type Line, listOptions, listRange, type RangeEntry } from '../line/line.ts';
import { compileRules, type RuleScope, type SlotRule, takesFinishes } from '../line/rules.ts';
import { Problem } from '../problems.ts';
import type { Slot } from '../product/slot.ts';
import { SLICE, type Sliced } from '../slices.ts';
import { CHOICE_TEXTS, RULE_TEXTS } from '../texts/choice-texts.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { keyOf, leaveRoom, makeNamer } from './name-rows.ts';
import { listBreaches } from './rule-effects.ts';
import { choiceOf, listUsedFinishes, type Schedule, type Variant } from './schedule.ts';

/** The data of a product of the line that matters when a finish is discontinued. */
export interface DiscontinueProduct {
  readonly product: string;
  readonly slots: readonly Slot[];
  readonly schedule: Schedule | null;
  /** Codes of all variants ever delivered: no other variant gets one of these. */
  readonly delivered: readonly string[];
  /** The latest delivery, with the codes of its finishes. */
  readonly last: { readonly delivery: number; readonly finishes: readonly string[] } | null;
}

interface DiscontinueRequest extends Omit<RuleScope, 'slots' | 'line'> {
  readonly line: Line;
  readonly products: readonly DiscontinueProduct[];
  readonly finish: string;
  readonly replacedBy: string | null;
}

/** Why a variant is withdrawn instead of replaced. */
type Withdrawal = 'no-replacement' | 'not-an-option' | 'rule' | 'stands-already';

interface WithdrawnVariant {
  readonly code: string;
  readonly name: string;
  readonly reason: Withdrawal;
  readonly detail: string;
}

/** A variant under a new code, in place of a removed one. */
interface RemintedVariant {
  readonly from: string;
  readonly to: string;
  readonly name: string;
  readonly choices: Readonly<Record<string, string>>;
}

/** The effects on one product. */
interface DiscontinuedProduct {
  readonly product: string;
  readonly withdrawn: readonly WithdrawnVariant[];
  readonly reminted: readonly RemintedVariant[];
  /** Null where the default stays. */
  readonly default: { readonly from: string; readonly to: string } | null;
  /** The new schedule. */
  readonly schedule: Schedule;
}

export interface DiscontinuePlan {
  readonly line: string;
  readonly finish: string;
  readonly replacedBy: string | null;
  /** The range's entry. */
  readonly range: { readonly from: RangeEntry; readonly to: RangeEntry };
  /** Products whose schedule changes. */
  readonly products: readonly DiscontinuedProduct[];
  /** Products whose latest delivery still contains the finish, or variants that change. */
  readonly deliveriesDue: readonly { readonly product: string; readonly delivery: number }[];
  /** Codes of the variants that have no picture yet. */
  readonly picturesDue: readonly { readonly product: string; readonly variants: readonly string[] }[];
}

/**
 * Plans the effects when a line stops selling a finish. Variants with the finish are withdrawn. Where another finish
 * replaces it, they are made again with that finish under a new code, since a code never changes its meaning.
 * Companions follow. A variant is still withdrawn where the replacement is not an option, a rule forbids the result, or
 * the schedule already has that combination. If the default is affected, its replacement becomes the default, or else
 * the first remaining row.
 * Cells of slots that do not change stay as they are: they have no effect. In slices, since a line may have many long schedules.
 * @throws Problem `not-in-range`, `invalid-field`, `no-variant-left`
 */
export function* planDiscontinue(request: DiscontinueRequest): Sliced<DiscontinuePlan> {
  const { line, products } = request;
  const from = needEntry(line, request.finish, '/finish');
  const successor = request.replacedBy === null ? null : needEntry(line, request.replacedBy, '/replacedBy');
  if (successor && (successor === from || successor.status === 'discontinued')) {
    throw new Problem('invalid-field', {
      detail: PRODUCT_PROBLEMS['invalid-field'][successor === from ? 'ownSuccessor' : 'discontinuedSuccessor'](
        successor.finish,
      ),
      received: successor.finish,
      where: '/replacedBy',
    });
  }
  const finish = from.finish;
  const { replacedBy: _, ...rest } = from;
  const to: RangeEntry = { ...rest, status: 'discontinued', ...(successor && { replacedBy: successor.finish }) };
  const changed: DiscontinuedProduct[] = [];
  for (const product of products) {
    const plan = yield* planProduct(product, finish, successor?.finish ?? null, request);
    if (plan) changed.push(plan);
  }
  const touched = new Set(changed.map(({ product }) => product));
  return {
    line: line.line,
    finish,
    replacedBy: successor?.finish ?? null,
    range: { from, to },
    products: changed,
    deliveriesDue: products.flatMap(({ product, last }) => {
      const due = last && (touched.has(product) || last.finishes.some((code) => isSameCode(code, finish)));
      return due ? [{ product, delivery: last.delivery }] : [];
    }),
    picturesDue: changed.flatMap(({ product, reminted }) =>
      reminted.length > 0 ? [{ product, variants: reminted.map((variant) => variant.to) }] : [],
    ),
  };
}

/** Null where the schedule does not change. */
function* planProduct(
  { product, slots, schedule, delivered }: DiscontinueProduct,
  old: string,
  successor: string | null,
  request: DiscontinueRequest,
): Sliced<DiscontinuedProduct | null> {
  if (!schedule) return null;
  const changing = slots.filter(takesFinishes);
  const uses = ({ choices }: Variant) => changing.some(({ slot }) => isSameCode(choiceOf(choices, slot), old));
  if (!listUsedFinishes(schedule).some((code) => isSameCode(code, old))) return null;
  const removed = new Set<Variant>();
  const standing = new Map<string, string>();
  for (const [row, variant] of schedule.variants.entries()) {
    if (row % SLICE === 0) yield;
    if (uses(variant)) removed.add(variant);
    else standing.set(keyOf(variant.choices), variant.code);
  }
  if (removed.size === 0) return null;

  const judge = makeJudge(changing, old, successor, request);
  const nameCode = makeNamer([...schedule.variants.map(({ code }) => code), ...delivered], '-', CODE_LENGTH);
  const namer = makeNamer(
    schedule.variants.map(({ name }) => name),
    ' ',
    NAME_LENGTH.max,
  );
  /** From the code of a removed row to that of the row with the resulting combination. */
  const successors = new Map<string, string>();
  const withdrawn: WithdrawnVariant[] = [];
  const reminted: RemintedVariant[] = [];
  const replace = (variant: Variant): Variant[] => {
    const { code, name } = variant;
    const judged = judge(variant);
    if ('reason' in judged) {
      withdrawn.push({ code, name, ...judged });
      return [];
    }
    const { choices } = judged;
    const twin = standing.get(keyOf(choices));
    if (twin !== undefined) {
      successors.set(code, twin);
      const detail = CHOICE_TEXTS.alreadyThere(successor!, twin);
      withdrawn.push({ code, name, reason: 'stands-already', detail });
      return [];
    }
    // a new trade item: the old GTIN stays with the old item
    const replacement: Variant = {
      code: nameCode(code),
      name: namer(rename(variant, choices, changing, old, successor!, request)),
      choices,
    };
    standing.set(keyOf(choices), replacement.code);
    successors.set(code, replacement.code);
    reminted.push({ from: code, to: replacement.code, name: replacement.name, choices });
    return [replacement];
  };
  const left: Variant[] = [];
  for (const [row, variant] of schedule.variants.entries()) {
    if (row % SLICE === 0) yield;
    if (removed.has(variant)) left.push(...replace(variant));
    else left.push(variant);
  }
  if (left.length === 0) {
    throw new Problem('no-variant-left', {
      detail: PRODUCT_PROBLEMS['no-variant-left'](product, old),
      received: old,
      findings: [{ product, withdrawn }],
    });
  }
  const before = schedule.default;
  const stays = left.some(({ code }) => isSameCode(code, before));
  const after = stays ? before : ([...successors].find(([code]) => isSameCode(code, before))?.[1] ?? left[0]!.code);
  return {
    product,
    withdrawn,
    reminted,
    default: stays ? null : { from: before, to: after },
    schedule: { ...schedule, default: after, variants: left },
  };
}

type Judged = { readonly choices: Record<string, string> } | { readonly reason: Withdrawal; readonly detail: string };

/** Decides about a variant with the finish: its new choices, or why it has none. */
function makeJudge(
  changing: readonly Slot[],
  old: string,
  successor: string | null,
  { line, finishes, articles }: DiscontinueRequest,
): (variant: Variant) => Judged {
  if (successor === null) {
    return () => ({ reason: 'no-replacement', detail: CHOICE_TEXTS.noReplacement(old) });
  }
  const rules = compileRules({ slots: changing, line, finishes, ...(articles && { articles }) });
  const range = listRange(line, finishes);
  const options = new Map(
    changing.map((slot) => [
      slot.slot,
      new Set(listOptions(slot, line, range).map(({ finish: { finish } }) => foldCode(finish))),
    ]),
  );
  return ({ choices }) => {
    const next = { ...choices };
    for (const { slot } of changing) if (isSameCode(choiceOf(choices, slot), old)) next[slot] = successor;
    follow(next, choices, rules);
    for (const { slot, label } of changing) {
      const finish = choiceOf(next, slot);
      if (finish === undefined || isSameCode(choiceOf(choices, slot), finish)) continue;
      if (!options.get(slot)!.has(foldCode(finish))) {
        return { reason: 'not-an-option', detail: CHOICE_TEXTS.notAnOption(RULE_TEXTS.position(label), finish) };
      }
    }
    // a rule that was already broken is another matter
    const before = new Set(listBreaches(choices, rules).map(({ rule }) => rule));
    const breach = listBreaches(next, rules).find(({ rule }) => !before.has(rule));
    if (!breach) return { choices: next };
    const words = describeRule(breach.rule.rule, line.positions);
    return { reason: 'rule', detail: CHOICE_TEXTS.ruleBroken(breach.from, breach.to, words) };
  };
}

/** Companions and same-as slots follow a changed slot; each slot changes once. */
function follow(next: Record<string, string>, before: Readonly<Record<string, string>>, rules: readonly SlotRule[]) {
  const moved = Object.keys(next).filter((slot) => next[slot] !== before[slot]);
  const settled = new Set(moved);
  for (let slot = moved.shift(); slot !== undefined; slot = moved.shift()) {
    for (const rule of rules) {
      if (rule.from.slot !== slot || settled.has(rule.to.slot) || choiceOf(next, rule.to.slot) === undefined) continue;
      const follower = rule.findFollower(next[slot]!);
      if (follower === undefined || isSameCode(choiceOf(next, rule.to.slot), follower)) continue;
      next[rule.to.slot] = follower;
      settled.add(rule.to.slot);
      moved.push(rule.to.slot);
    }
  }
}

/** @throws Problem `not-in-range` */
function needEntry(line: Line, code: string, where: string): RangeEntry {
  const entry = line.range.find(({ finish }) => isSameCode(finish, code));
  if (entry) return entry;
  throw new Problem('not-in-range', {
    detail: PRODUCT_PROBLEMS['not-in-range'].unknown(line.line, code.slice(0, 80)),
    expected: line.range.slice(0, 20).map(({ finish }) => finish),
    received: code.slice(0, 80),
    where,
  });
}

/**
 * Replaces the old finish's name with the new one's in a variant's name. Where the old name is not in it, or other
 * choices changed too, the name is made of the finishes' names, as for a new row. So no row keeps a name that mentions
 * the old finish.
 */
function rename(
  { name, choices: before }: Variant,
  choices: Readonly<Record<string, string>>,
  changing: readonly Slot[],
  old: string,
  successor: string,
  request: DiscontinueRequest,
): string {
  const said = nameOf(old, request);
  const followed = changing.some(({ slot }) => {
    const was = choiceOf(before, slot);
    return was !== undefined && !isSameCode(was, old) && !isSameCode(was, choiceOf(choices, slot)!);
  });
  const chosen = changing.flatMap(({ slot }) => choiceOf(choices, slot) ?? []);
  const renamed =
    name.includes(said) && !followed
      ? name.replaceAll(said, () => nameOf(successor, request))
      : chosen.map((code) => nameOf(code, request)).join(' / ');
  return [...renamed].length <= NAME_LENGTH.max ? renamed : leaveRoom(renamed, NAME_LENGTH.max);
}

function nameOf(code: string, { finishes }: Pick<DiscontinueRequest, 'finishes'>): string {
  return finishes.get(foldCode(code))?.name ?? code;
}
