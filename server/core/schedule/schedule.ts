import { checkCode, checkName, foldCode } from '../codes.ts';
import type { Finish } from '../finish/finish.ts';
import { readGtin } from '../picture/gtin.ts';
import { Problem } from '../problems.ts';
import type { Slot } from '../product/slot.ts';

/** The finish chosen in a slot; a slot's key may be any word, `constructor` among them. */
export function choiceOf(choices: Readonly<Record<string, string>>, slot: string): string | undefined {
  return Object.hasOwn(choices, slot) ? choices[slot] : undefined;
}

/** One named set of choices: slot key to finish code. */
export interface Variant {
  readonly code: string;
  readonly name: string;
  readonly choices: Readonly<Record<string, string>>;
  /** The Global Trade Item Number the variant is sold under: 14 digits, no two variants the same. */
  readonly gtin?: string;
}

/** The finish schedule of a product: one row per variant, one column per slot. */
export interface Schedule {
  /** Code of the variant that viewers show before a choice. */
  readonly default: string;
  readonly variants: readonly Variant[];
}

/** More rows than this are refused: 10,000 variants are half a megabyte of JSON in the delivered file. */
export const VARIANT_LIMIT = 20_000;

/**
 * Checks a schedule that is to be stored whole and brings names and codes into the form in which they are kept.
 * Cells may be empty; that is a finding, not a refusal.
 * @param standing what is stored now
 * @throws Problem `duplicate-code`, `duplicate-name`, `duplicate-gtin`, `invalid-gtin`, `unknown-default`, `unknown-slot`,
 *   `slot-is-fixed`, `unknown-finish`, `too-many-variants`, and what `checkCode` and `checkName` throw
 */
export function checkSchedule(
  given: Schedule,
  slots: readonly Slot[],
  finishes: ReadonlyMap<string, Finish>,
  standing: Schedule | null = null,
): Schedule {
  if (given.variants.length > VARIANT_LIMIT) refuseCount(given.variants.length, VARIANT_LIMIT);
  // a slot that was fixed after the schedule named it keeps its cells, without effect
  const named = new Set(standing?.variants.flatMap((variant) => Object.keys(variant.choices)));
  const bySlot = new Map(slots.map((slot) => [slot.slot, named.has(slot.slot) ? { ...slot, fixed: false } : slot]));
  const codes = new Set<string>();
  const names = new Map<string, string>();
  const gtins = new Map<string, string>();
  const variants = given.variants.map((variant, row): Variant => {
    const where = `/variants/${row}`;
    const code = checkCode(variant.code, 'variant');
    if (codes.has(foldCode(code))) {
      throw new Problem('duplicate-code', {
        detail: `Two variants have the code “${code}”; codes that differ only in case are the same. Give each row its own.`,
        received: code,
        where: `${where}/code`,
      });
    }
    codes.add(foldCode(code));
    const name = checkName(variant.name, `${where}/name`);
    const folded = name.toLowerCase();
    if (names.has(folded)) {
      throw new Problem('duplicate-name', {
        detail: `“${name}” names two variants (${names.get(folded)} and ${code}). Viewers pick a variant by its name: make them differ.`,
        received: name,
        where: `${where}/name`,
      });
    }
    names.set(folded, code);
    const choices = checkChoices(variant.choices, bySlot, finishes, `${where}/choices`);
    if (variant.gtin === undefined) return { code, name, choices };
    const gtin = readGtin(variant.gtin, `${where}/gtin`);
    if (gtins.has(gtin)) {
      throw new Problem('duplicate-gtin', {
        detail: `${gtins.get(gtin)} and ${code} have the GTIN ${gtin}. A GTIN is of one trade item: give each variant its own, or leave it out.`,
        received: gtin,
        where: `${where}/gtin`,
      });
    }
    gtins.set(gtin, code);
    return { code, name, choices, gtin };
  });
  const byDefault = variants.find((variant) => foldCode(variant.code) === foldCode(given.default));
  if (!byDefault) {
    throw new Problem('unknown-default', {
      detail: `The default “${given.default}” is not one of the ${variants.length} variants. Name one that is in the schedule.`,
      expected: variants.slice(0, 20).map((variant) => variant.code),
      received: given.default,
      where: '/default',
    });
  }
  return { default: byDefault.code, variants };
}

/**
 * Checks choices of one combination and writes finish codes as they are stored.
 * @throws Problem `unknown-slot`, `slot-is-fixed`, `unknown-finish`
 */
export function checkChoices(
  choices: Readonly<Record<string, string>>,
  bySlot: ReadonlyMap<string, Slot>,
  finishes: ReadonlyMap<string, Finish>,
  where: string,
): Record<string, string> {
  const kept: [string, string][] = [];
  for (const [key, code] of Object.entries(choices)) {
    const slot = bySlot.get(key);
    if (!slot) {
      throw new Problem('unknown-slot', {
        detail: `The product has no slot “${key}”. Its slots are: ${[...bySlot.keys()].join(', ')}.`,
        expected: [...bySlot.keys()],
        received: key,
        where: `${where}/${key}`,
      });
    }
    if (slot.fixed) {
      throw new Problem('slot-is-fixed', {
        detail: `“${slot.label}” is fixed and never changes finish. Leave it out, or let the slot change.`,
        received: code,
        where: `${where}/${key}`,
      });
    }
    const finish = finishes.get(foldCode(code));
    if (!finish) {
      throw new Problem('unknown-finish', {
        detail: `There is no finish with the code “${code}”. Store it first, or correct the code.`,
        received: code,
        where: `${where}/${key}`,
      });
    }
    kept.push([key, finish.finish]);
  }
  return Object.fromEntries(kept);
}

export function refuseCount(count: number | bigint, limit: number): never {
  throw new Problem('too-many-variants', {
    detail: `That makes ${count} variants; the limit is ${limit}. Narrow the options, or leave slots out.`,
    expected: limit,
    received: count > Number.MAX_SAFE_INTEGER ? String(count) : Number(count),
  });
}

/** Codes of the finishes a schedule uses, as they stand in it, each once, in the order they appear. */
export function listUsedFinishes(schedule: Schedule): string[] {
  const used = new Map<string, string>();
  for (const { choices } of schedule.variants) {
    for (const code of Object.values(choices)) if (!used.has(foldCode(code))) used.set(foldCode(code), code);
  }
  return [...used.values()];
}
