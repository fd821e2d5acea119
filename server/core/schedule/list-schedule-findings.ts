import { foldCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import type { Line } from '../line/line.ts';
import { listOptions, listRange } from '../line/options.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { Slot } from '../product/slot.ts';
import { choiceOf, type Schedule } from './schedule.ts';

/** How many places a finding that groups many names. */
const NAMED = 5;

/** What stands against delivering a schedule, grouped so that one cause is one finding. */
export function listScheduleFindings(
  schedule: Schedule,
  slots: readonly Slot[],
  line: Line | null,
  finishes: ReadonlyMap<string, Finish>,
): Finding[] {
  return [
    ...checkCells(schedule, slots, line, finishes),
    ...checkAbsentSlots(schedule, slots),
    ...checkNames(schedule),
  ];
}

function checkCells(
  schedule: Schedule,
  slots: readonly Slot[],
  line: Line | null,
  finishes: ReadonlyMap<string, Finish>,
): Finding[] {
  const findings: Finding[] = [];
  const range = listRange(line, finishes);
  for (const slot of slots) {
    if (slot.fixed || slot.primitives.length === 0) continue;
    const options = new Map(listOptions(slot, line, range).map((item) => [foldCode(item.finish.finish), item]));
    const empty: string[] = [];
    const outside = new Map<string, string[]>();
    const gone = new Map<string, string[]>();
    for (const variant of schedule.variants) {
      const code = choiceOf(variant.choices, slot.slot);
      if (code === undefined) empty.push(variant.code);
      else {
        const option = options.get(foldCode(code));
        if (!option) push(outside, code, variant.code);
        else if (option.status === 'discontinued') push(gone, code, variant.code);
      }
    }
    if (empty.length > 0) {
      findings.push(
        makeFinding('slot-without-finish', {
          where: `slot ${slot.slot}`,
          message: `“${slot.label}” has no finish in ${some(empty)}; there it keeps the material the model came with.`,
          seen: empty.length,
        }),
      );
    }
    for (const [code, variants] of outside) {
      findings.push(
        makeFinding('finish-not-in-options', {
          where: `slot ${slot.slot}`,
          message: `${code} is not among the options of “${slot.label}”, yet ${some(variants)} ${variants.length === 1 ? 'takes' : 'take'} it. Change the cell, or widen the options.`,
          seen: code,
          expected: [...options.values()].slice(0, 20).map((item) => item.finish.finish),
        }),
      );
    }
    for (const [code, variants] of gone) {
      findings.push(
        makeFinding('finish-discontinued', {
          where: `slot ${slot.slot}`,
          message: `${code} is discontinued in the range, yet ${some(variants)} ${variants.length === 1 ? 'takes' : 'take'} it on “${slot.label}”.`,
          seen: code,
        }),
      );
    }
  }
  return findings;
}

/** Choices on slots that the current model no longer has, or that no longer change: kept, and without effect. */
function checkAbsentSlots(schedule: Schedule, slots: readonly Slot[]): Finding[] {
  return slots
    .filter((slot) => schedule.variants.some((variant) => choiceOf(variant.choices, slot.slot) !== undefined))
    .flatMap((slot) => {
      const kept = `the choices for “${slot.label}” are kept and have no effect.`;
      const where = `slot ${slot.slot}`;
      if (slot.primitives.length === 0) {
        return [
          makeFinding('slot-not-in-model', {
            where,
            message: `The current model has no “${slot.materialName}”; ${kept}`,
          }),
        ];
      }
      return slot.fixed ? [makeFinding('slot-is-fixed', { where, message: `“${slot.label}” is fixed; ${kept}` })] : [];
    });
}

/**
 * Names that hold another name: a widely copied way of picking variants looks for a part of the name, and would find the
 * wrong one. Each name is looked for in the longer ones; above 2,000 rows only neighbours in the
 * alphabet are compared, which finds the common case (“Oak”, “Oak dark”) without comparing all with all.
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
    makeFinding('name-contains-name', {
      where: 'schedule',
      message: `${pairs.length === 1 ? 'One name holds another' : `${pairs.length} names hold another`}, such as “${long}” and “${short}”. A viewer that looks for a part of the name may show the wrong variant.`,
      seen: pairs.slice(0, 20),
    }),
  ];
}

function push(map: Map<string, string[]>, key: string, value: string): void {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}

function some(codes: readonly string[]): string {
  if (codes.length <= NAMED) return `variant${codes.length === 1 ? '' : 's'} ${codes.join(', ')}`;
  return `${codes.length} variants (${codes.slice(0, NAMED).join(', ')} …)`;
}
