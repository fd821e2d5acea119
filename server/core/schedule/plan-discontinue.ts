import { CODE_LENGTH, foldCode, NAME_LENGTH } from '../codes.ts';
import { describeRule, type Line, listOptions, listRange, type RangeEntry } from '../line/line.ts';
import { compileRules, type RuleScope, type SlotRule, takesFinishes } from '../line/rules.ts';
import { Problem } from '../problems.ts';
import type { Slot } from '../product/slot.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';
import { makeNamer } from './expand-schedule.ts';
import { listBreaches } from './rule-effects.ts';
import { choiceOf, type Schedule, type Variant } from './schedule.ts';

/** A product of the line, as far as a finish that goes concerns it. */
export interface DiscontinueProduct {
  readonly product: string;
  readonly slots: readonly Slot[];
  readonly schedule: Schedule | null;
  /** Codes of variants that were ever delivered: none of them is given to another cloth. */
  readonly delivered: readonly string[];
  /** The latest delivery, with the codes of the finishes it holds. */
  readonly last: { readonly delivery: number; readonly finishes: readonly string[] } | null;
}

export interface DiscontinueRequest extends Omit<RuleScope, 'slots' | 'line'> {
  readonly line: Line;
  readonly products: readonly DiscontinueProduct[];
  readonly finish: string;
  readonly replacedBy: string | null;
}

/** Why a variant is withdrawn instead of replaced. */
export type Withdrawal = 'no-replacement' | 'not-an-option' | 'rule' | 'stands-already';

export interface WithdrawnVariant {
  readonly code: string;
  readonly name: string;
  readonly reason: Withdrawal;
  readonly detail: string;
}

/** A variant under a new code, in the place of one that went. */
export interface RemintedVariant {
  readonly from: string;
  readonly to: string;
  readonly name: string;
  readonly choices: Readonly<Record<string, string>>;
}

/** The effects on one product. */
export interface DiscontinuedProduct {
  readonly product: string;
  readonly withdrawn: readonly WithdrawnVariant[];
  readonly reminted: readonly RemintedVariant[];
  /** Null where the default stays. */
  readonly default: { readonly from: string; readonly to: string } | null;
  /** The schedule as it will be. */
  readonly schedule: Schedule;
}

export interface DiscontinuePlan {
  readonly line: string;
  readonly finish: string;
  readonly replacedBy: string | null;
  /** The range's entry. */
  readonly range: { readonly from: RangeEntry; readonly to: RangeEntry };
  /** Those whose schedule changes. */
  readonly products: readonly DiscontinuedProduct[];
  /** Products whose latest delivery still holds the finish, or variants that change. */
  readonly deliveriesDue: readonly { readonly product: string; readonly delivery: number }[];
  /** Codes of the variants that have no picture yet. */
  readonly picturesDue: readonly { readonly product: string; readonly variants: readonly string[] }[];
}

/**
 * What it comes to when a line stops selling a finish. Variants that wear it are withdrawn; where another takes its place
 * they are made anew with it, under a new code, since a code never comes to mean another cloth. Companions follow. A
 * variant is withdrawn all the same where the replacement is no option, a rule forbids what would come of it, or the
 * schedule has that combination already. A default that is hit moves to what it was made into, else to the first row left.
 * Cells of slots that do not change are left alone: they have no effect.
 * @throws Problem `not-in-range`, `invalid-field`, `no-variant-left`
 */
export function planDiscontinue(request: DiscontinueRequest): DiscontinuePlan {
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
  const changed = products.flatMap((product) => planProduct(product, finish, successor?.finish ?? null, request) ?? []);
  const touched = new Set(changed.map(({ product }) => product));
  return {
    line: line.line,
    finish,
    replacedBy: successor?.finish ?? null,
    range: { from, to },
    products: changed,
    deliveriesDue: products.flatMap(({ product, last }) => {
      const due = last && (touched.has(product) || last.finishes.some((code) => isSame(code, finish)));
      return due ? [{ product, delivery: last.delivery }] : [];
    }),
    picturesDue: changed.flatMap(({ product, reminted }) =>
      reminted.length > 0 ? [{ product, variants: reminted.map((variant) => variant.to) }] : [],
    ),
  };
}

/** Null where the schedule stays as it is. */
function planProduct(
  { product, slots, schedule, delivered }: DiscontinueProduct,
  old: string,
  successor: string | null,
  request: DiscontinueRequest,
): DiscontinuedProduct | null {
  if (!schedule) return null;
  const changing = slots.filter(takesFinishes);
  const uses = ({ choices }: Variant) => changing.some(({ slot }) => isSame(choiceOf(choices, slot), old));
  if (!schedule.variants.some(uses)) return null;

  const judge = makeJudge(changing, old, successor, request);
  const nameCode = makeNamer([...schedule.variants.map(({ code }) => code), ...delivered], '-', CODE_LENGTH);
  const namer = makeNamer(
    schedule.variants.map(({ name }) => name),
    ' ',
    NAME_LENGTH.max,
  );
  const kept = schedule.variants.filter((variant) => !uses(variant));
  const standing = new Map(kept.map(({ code, choices }) => [keyOf(choices), code]));
  /** From the code of a row that went to that of the row which has what it came to. */
  const became = new Map<string, string>();
  const withdrawn: WithdrawnVariant[] = [];
  const reminted: RemintedVariant[] = [];
  const left = schedule.variants.flatMap((variant): Variant[] => {
    if (!uses(variant)) return [variant];
    const { code, name } = variant;
    const judged = judge(variant);
    if ('reason' in judged) {
      withdrawn.push({ code, name, ...judged });
      return [];
    }
    const { choices } = judged;
    const twin = standing.get(keyOf(choices));
    if (twin !== undefined) {
      became.set(code, twin);
      const detail = `With ${successor} it would be the same as ${twin}.`;
      withdrawn.push({ code, name, reason: 'stands-already', detail });
      return [];
    }
    // another trade item: the GTIN of the one that goes stays with that
    const anew: Variant = {
      code: nameCode(code),
      name: namer(rename(variant, choices, changing, old, successor!, request)),
      choices,
    };
    standing.set(keyOf(choices), anew.code);
    became.set(code, anew.code);
    reminted.push({ from: code, to: anew.code, name: anew.name, choices });
    return [anew];
  });
  if (left.length === 0) {
    throw new Problem('no-variant-left', {
      detail: PRODUCT_PROBLEMS['no-variant-left'](product, old),
      received: old,
      findings: [{ product, withdrawn }],
    });
  }
  const before = schedule.default;
  const stays = left.some(({ code }) => isSame(code, before));
  const after = stays ? before : ([...became].find(([code]) => isSame(code, before))?.[1] ?? left[0]!.code);
  return {
    product,
    withdrawn,
    reminted,
    default: stays ? null : { from: before, to: after },
    schedule: { default: after, variants: left },
  };
}

type Judged = { readonly choices: Record<string, string> } | { readonly reason: Withdrawal; readonly detail: string };

/** Says what becomes of a variant that wears the finish: the choices it would have, or why there can be none. */
function makeJudge(
  changing: readonly Slot[],
  old: string,
  successor: string | null,
  { line, finishes, articles }: DiscontinueRequest,
): (variant: Variant) => Judged {
  if (successor === null) {
    return () => ({ reason: 'no-replacement', detail: `It uses ${old}, which has no replacement.` });
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
    for (const { slot } of changing) if (isSame(choiceOf(choices, slot), old)) next[slot] = successor;
    follow(next, choices, rules);
    for (const { slot, label } of changing) {
      const finish = choiceOf(next, slot);
      if (finish === undefined || isSame(choiceOf(choices, slot), finish)) continue;
      if (!options.get(slot)!.has(foldCode(finish))) {
        return { reason: 'not-an-option', detail: `${finish} is not among the options of “${label}”.` };
      }
    }
    // what broke a rule before is another matter
    const before = new Set(listBreaches(choices, rules).map(({ rule }) => rule));
    const breach = listBreaches(next, rules).find(({ rule }) => !before.has(rule));
    if (!breach) return { choices: next };
    const words = describeRule(breach.rule.rule, line.positions);
    return { reason: 'rule', detail: `${breach.from} and ${breach.to} cannot be combined: ${words}.` };
  };
}

/** Companions, and what is the same, follow what was changed; each slot changes once. */
function follow(next: Record<string, string>, before: Readonly<Record<string, string>>, rules: readonly SlotRule[]) {
  const moved = Object.keys(next).filter((slot) => next[slot] !== before[slot]);
  const settled = new Set(moved);
  for (let slot = moved.shift(); slot !== undefined; slot = moved.shift()) {
    for (const rule of rules) {
      if (rule.from.slot !== slot || settled.has(rule.to.slot) || choiceOf(next, rule.to.slot) === undefined) continue;
      const follower = rule.findFollower(next[slot]!);
      if (follower === undefined || isSame(choiceOf(next, rule.to.slot), follower)) continue;
      next[rule.to.slot] = follower;
      settled.add(rule.to.slot);
      moved.push(rule.to.slot);
    }
  }
}

/** @throws Problem `not-in-range` */
function needEntry(line: Line, code: string, where: string): RangeEntry {
  const entry = line.range.find(({ finish }) => isSame(finish, code));
  if (entry) return entry;
  throw new Problem('not-in-range', {
    detail: PRODUCT_PROBLEMS['not-in-range'].unknown(line.line, code.slice(0, 80)),
    expected: line.range.slice(0, 20).map(({ finish }) => finish),
    received: code.slice(0, 80),
    where,
  });
}

/**
 * The old finish's name in a variant's name gives way to the new one's. Where it does not stand, or more than that has
 * changed, the name is made of the finishes' names as it is for a new row: no row keeps a name that speaks of the old cloth.
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
    return was !== undefined && !isSame(was, old) && !isSame(was, choiceOf(choices, slot)!);
  });
  const worn = changing.flatMap(({ slot }) => choiceOf(choices, slot) ?? []);
  const renamed =
    name.includes(said) && !followed
      ? name.replaceAll(said, () => nameOf(successor, request))
      : worn.map((code) => nameOf(code, request)).join(' / ');
  // room for a number behind it; cut between characters, never inside one
  const characters = [...renamed];
  return characters.length <= NAME_LENGTH.max
    ? renamed
    : characters
        .slice(0, NAME_LENGTH.max - 10)
        .join('')
        .trim();
}

function nameOf(code: string, { finishes }: Pick<DiscontinueRequest, 'finishes'>): string {
  return finishes.get(foldCode(code))?.name ?? code;
}

function keyOf(choices: Readonly<Record<string, string>>): string {
  return Object.entries(choices)
    .map(([slot, finish]) => `${slot}=${foldCode(finish)}`)
    .sort()
    .join('&');
}

function isSame(a: string | undefined, b: string): boolean {
  return a !== undefined && foldCode(a) === foldCode(b);
}
