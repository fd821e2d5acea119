import { foldCode } from '../codes.ts';
import type { Article, Finish } from '../finish/finish.ts';
import { describeRule, type Line, listOptions, listRange, type RangedFinish } from '../line/line.ts';
import { compileRules, type SlotRule, takesFinishes } from '../line/rules.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import { finish, SLICE, type Sliced } from '../slices.ts';
import { checkVariants } from './check-variants.ts';
import { choiceOf, listUsedFinishes, type Schedule } from './schedule.ts';

/** Pairs of finishes listed for one rule; one more finding gives the number of the rest. */
const PAIRS_NAMED = 20;

/**
 * Findings that stand against a delivery of the schedule, grouped so that one cause is one finding.
 * @param articles by folded code, for the companions of their finishes
 */
export function listScheduleFindings(
  schedule: Schedule,
  slots: readonly Slot[],
  line: Line | null,
  finishes: ReadonlyMap<string, Finish>,
  articles: ReadonlyMap<string, Article> = new Map(),
): Finding[] {
  return finish(findInSchedule(schedule, slots, line, finishes, articles));
}

/** The same in slices, for a few rows and a large library. */
export function* findInSchedule(
  schedule: Schedule,
  slots: readonly Slot[],
  line: Line | null,
  finishes: ReadonlyMap<string, Finish>,
  articles: ReadonlyMap<string, Article>,
): Sliced<Finding[]> {
  const range = listRange(line, finishes);
  yield;
  const used = new Set(listUsedFinishes(schedule).map(foldCode));
  const inUse: RangedFinish[] = [];
  for (const [at, item] of range.entries()) {
    if (at % SLICE === SLICE - 1) yield;
    if (used.has(foldCode(item.finish.finish))) inUse.push(item);
  }
  return [
    ...checkCells(schedule, slots, line, inUse),
    ...(line ? checkRules(schedule, line, compileRules({ slots, line, finishes, articles })) : []),
    ...checkAbsentSlots(schedule, slots),
    ...checkNames(schedule),
    ...(yield* checkVariants(schedule, slots, finishes, range)),
  ];
}

function checkCells(
  schedule: Schedule,
  slots: readonly Slot[],
  line: Line | null,
  range: readonly RangedFinish[],
): Finding[] {
  const findings: Finding[] = [];
  for (const slot of slots) {
    if (!takesFinishes(slot)) continue;
    const options = new Map(listOptions(slot, line, range).map((item) => [foldCode(item.finish.finish), item]));
    const empty: string[] = [];
    const outside = new Map<string, string[]>();
    const leaving = new Map<RangedFinish, string[]>();
    for (const variant of schedule.variants) {
      const code = choiceOf(variant.choices, slot.slot);
      if (code === undefined) empty.push(variant.code);
      else {
        const option = options.get(foldCode(code));
        if (!option) push(outside, code, variant.code);
        else if (option.status === 'discontinued' || (option.status === 'phase-out' && option.lastOrder))
          push(leaving, option, variant.code);
      }
    }
    if (empty.length > 0) {
      findings.push(
        makeFinding(
          'slot-without-finish',
          { slot: slot.label, variants: empty },
          {
            where: `slot ${slot.slot}`,
            seen: empty.length,
          },
        ),
      );
    }
    for (const [code, variants] of outside) {
      findings.push(
        makeFinding(
          'finish-not-in-options',
          { finish: code, slot: slot.label, variants },
          {
            where: `slot ${slot.slot}`,
            seen: code,
            expected: [...options.values()].slice(0, 20).map((item) => item.finish.finish),
          },
        ),
      );
    }
    for (const [option, variants] of leaving) findings.push(checkLeaving(slot, option, variants));
  }
  return findings;
}

/** Finishes that are leaving the range, or have left it. */
function checkLeaving(
  slot: Slot,
  { finish: { finish }, status, lastOrder, replacedBy }: RangedFinish,
  variants: readonly string[],
): Finding {
  const facts = { where: `slot ${slot.slot}`, seen: finish, ...(replacedBy !== undefined && { expected: replacedBy }) };
  const figures = { finish, slot: slot.label, variants, replacedBy };
  return status === 'discontinued'
    ? makeFinding('finish-discontinued', figures, facts)
    : makeFinding('finish-phased-out', { ...figures, lastOrder: lastOrder ?? '' }, facts);
}

/** Rules that the rows break: one finding for each rule and pair of finishes. */
function checkRules(schedule: Schedule, line: Line, rules: readonly SlotRule[]): Finding[] {
  const rows = makeRowGrouper(schedule);
  const broken = new Map<number, Map<string, { rule: SlotRule; from: string; to: string; variants: Set<string> }>>();
  for (const rule of rules) {
    for (const { from, to, variants } of rows(rule.from.slot, rule.to.slot)) {
      if (rule.allows(from, to)) continue;
      const pairs = broken.get(rule.index) ?? new Map();
      broken.set(rule.index, pairs);
      const key = `${foldCode(from)} ${foldCode(to)}`;
      const pair = pairs.get(key) ?? { rule, from, to, variants: new Set() };
      pairs.set(key, pair);
      for (const variant of variants) pair.variants.add(variant);
    }
  }
  return [...broken.values()].flatMap((pairs) => {
    const all = [...pairs.values()];
    const words = describeRule(all[0]!.rule.rule, line.positions);
    const findings = all.slice(0, PAIRS_NAMED).map(({ rule, from, to, variants }) =>
      makeFinding(
        'rule-broken',
        { from, fromSlot: rule.from.label, to, toSlot: rule.to.label, variants: [...variants], rule: words },
        {
          where: `slot ${rule.to.slot}`,
          seen: { [rule.from.slot]: from, [rule.to.slot]: to },
          expected: words,
        },
      ),
    );
    if (all.length <= PAIRS_NAMED) return findings;
    const others = new Set(all.slice(PAIRS_NAMED).flatMap(({ variants }) => [...variants]));
    findings.push(
      makeFinding(
        'rule-broken:more',
        { pairs: all.length - PAIRS_NAMED, variants: [...others], rule: words },
        {
          where: `slot ${all[0]!.rule.to.slot}`,
          seen: all.length - PAIRS_NAMED,
          expected: words,
        },
      ),
    );
    return findings;
  });
}

interface RowGroup {
  readonly from: string;
  readonly to: string;
  readonly variants: string[];
}

/**
 * Groups rows by their finishes in two slots. It goes through each pair of slots once, however many rules the pair has.
 */
function makeRowGrouper(schedule: Schedule): (from: string, to: string) => readonly RowGroup[] {
  const known = new Map<string, readonly RowGroup[]>();
  return (fromSlot, toSlot) => {
    const before = known.get(`${fromSlot} ${toSlot}`);
    if (before) return before;
    const groups = new Map<string, RowGroup>();
    for (const { code, choices } of schedule.variants) {
      const from = choiceOf(choices, fromSlot);
      const to = choiceOf(choices, toSlot);
      if (from === undefined || to === undefined) continue;
      const group = groups.get(`${from} ${to}`);
      if (group) group.variants.push(code);
      else groups.set(`${from} ${to}`, { from, to, variants: [code] });
    }
    const listed = [...groups.values()];
    known.set(`${fromSlot} ${toSlot}`, listed);
    return listed;
  };
}

/**
 * Choices for slots that the current model no longer has, or that no longer change. They stay in the schedule and have
 * no effect.
 */
function checkAbsentSlots(schedule: Schedule, slots: readonly Slot[]): Finding[] {
  return slots
    .filter((slot) => schedule.variants.some((variant) => choiceOf(variant.choices, slot.slot) !== undefined))
    .flatMap((slot) => {
      const where = `slot ${slot.slot}`;
      if (slot.primitives.length === 0) {
        return [makeFinding('slot-not-in-model', { slot: slot.label, material: slot.materialName }, { where })];
      }
      return slot.fixed ? [makeFinding('slot-is-fixed', { slot: slot.label }, { where })] : [];
    });
}

/**
 * Names that contain another name: a common way to pick variants searches for a part of the name, and would find the
 * wrong one. The check looks for each name in the longer ones. Above 2,000 rows it compares only neighbours in the
 * alphabet. This finds the common case (“Oak”, “Oak dark”) without comparing all with all.
 */
function checkNames(schedule: Schedule): Finding[] {
  const names = schedule.variants.map((variant) => variant.name).sort();
  const pairs: [string, string][] = [];
  if (names.length <= 2000) {
    for (const short of names) {
      for (const long of names) if (long.length > short.length && long.includes(short)) pairs.push([short, long]);
    }
  } else {
    names.forEach((short, at) => {
      const next = names[at + 1];
      if (next && next.length > short.length && next.startsWith(short)) pairs.push([short, next]);
    });
  }
  if (pairs.length === 0) return [];
  const [short, long] = pairs[0]!;
  return [
    makeFinding(
      'name-contains-name',
      { pairs: pairs.length, long, short },
      {
        where: 'schedule',
        seen: pairs.slice(0, 20),
      },
    ),
  ];
}

function push<K>(map: Map<K, string[]>, key: K, value: string): void {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}
