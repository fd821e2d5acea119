import { checkCode, checkName, foldCode } from '../codes.ts';
import { type Finish, noFinish } from '../finish/finish.ts';
import { readGtin } from '../gs1.ts';
import { Problem } from '../problems.ts';
import type { Slot } from '../product/slot.ts';
import { finish, SLICE, type Sliced } from '../slices.ts';
import { PRODUCT_PROBLEMS } from '../texts/problems/product.ts';

/** The finish chosen in a slot; a slot's key may be any word, even `constructor`. */
export function choiceOf(choices: Readonly<Record<string, string>>, slot: string): string | undefined {
  return Object.hasOwn(choices, slot) ? choices[slot] : undefined;
}

/** One named set of choices: slot key to finish code. */
export interface Variant {
  readonly code: string;
  readonly name: string;
  readonly choices: Readonly<Record<string, string>>;
  /** The Global Trade Item Number of the variant: 14 digits, different for each variant. */
  readonly gtin?: string;
}

/** What codes and names of a product's variants are made of. `{slot}` stands for the finish of that slot. */
export interface RowTemplate {
  /** Template of names; a finish is given by its name. */
  readonly name?: string;
  /** Template of codes; a finish is given by its code. */
  readonly code?: string;
}

/** The finish schedule of a product: one row per variant, one column per slot. */
export interface Schedule {
  /** Code of the variant that viewers show before a choice. */
  readonly default: string;
  readonly variants: readonly Variant[];
  readonly template?: RowTemplate;
}

/** A schedule to store. Without a template it keeps that of the stored one; null removes it. */
export interface GivenSchedule extends Omit<Schedule, 'template'> {
  readonly template?: RowTemplate | null | undefined;
}

/** More rows are refused: 10,000 variants are half a megabyte of JSON in the delivered file. */
export const VARIANT_LIMIT = 20_000;

/**
 * Checks a complete schedule before it is stored, and brings names and codes into their stored form.
 * Cells may be empty; that is a finding, not a refusal.
 * @param standing the stored schedule
 * @throws Problem `duplicate-code`, `duplicate-name`, `duplicate-gtin`, `invalid-gtin`, `unknown-default`,
 * `unknown-slot`,
 *   `slot-is-fixed`, `unknown-finish`, `too-many-variants`, and those that `checkCode` and `checkName` throw
 */
export function checkSchedule(...given: Parameters<typeof checkScheduleSliced>): Schedule {
  return finish(checkScheduleSliced(...given));
}

/** The same in slices: twenty thousand rows take a tenth of a second. */
export function* checkScheduleSliced(
  given: GivenSchedule,
  slots: readonly Slot[],
  finishes: ReadonlyMap<string, Finish>,
  standing: Schedule | null = null,
): Sliced<Schedule> {
  if (given.variants.length > VARIANT_LIMIT) refuseCount(given.variants.length, VARIANT_LIMIT);
  // a slot that was fixed after the schedule named it keeps its cells, without effect
  const named = new Set(standing && listNamedSlots(standing));
  const bySlot = new Map(slots.map((slot) => [slot.slot, named.has(slot.slot) ? { ...slot, fixed: false } : slot]));
  const codes = new Set<string>();
  const names = new Map<string, string>();
  const gtins = new Map<string, string>();
  const checkRow = (variant: Variant, row: number): Variant => {
    const where = `/variants/${row}`;
    const code = checkCode(variant.code, 'variant');
    if (codes.has(foldCode(code))) {
      throw new Problem('duplicate-code', {
        detail: PRODUCT_PROBLEMS['duplicate-code'].variant(code),
        received: code,
        where: `${where}/code`,
      });
    }
    codes.add(foldCode(code));
    const name = checkName(variant.name, `${where}/name`);
    const folded = name.toLowerCase();
    if (names.has(folded)) {
      throw new Problem('duplicate-name', {
        detail: PRODUCT_PROBLEMS['duplicate-name'](name, names.get(folded)!, code),
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
        detail: PRODUCT_PROBLEMS['duplicate-gtin'](gtin, gtins.get(gtin)!, code),
        received: gtin,
        where: `${where}/gtin`,
      });
    }
    gtins.set(gtin, code);
    return { code, name, choices, gtin };
  };
  const variants: Variant[] = [];
  for (const variant of given.variants) {
    if (variants.length > 0 && variants.length % SLICE === 0) yield;
    variants.push(checkRow(variant, variants.length));
  }
  const byDefault = variants.find((variant) => foldCode(variant.code) === foldCode(given.default));
  if (!byDefault) {
    throw new Problem('unknown-default', {
      detail: PRODUCT_PROBLEMS['unknown-default'](given.default, variants.length),
      expected: variants.slice(0, 20).map((variant) => variant.code),
      received: given.default,
      where: '/default',
    });
  }
  const template = given.template === undefined ? standing?.template : readTemplate(given.template);
  return { default: byDefault.code, variants, ...(template && { template }) };
}

/** Null without any text in it. */
function readTemplate(given: RowTemplate | null): RowTemplate | null {
  const name = given?.name?.normalize('NFC').trim();
  const code = given?.code?.trim();
  return name || code ? { ...(name && { name }), ...(code && { code }) } : null;
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
        detail: PRODUCT_PROBLEMS['unknown-slot'].ofProduct(key, [...bySlot.keys()]),
        expected: [...bySlot.keys()],
        received: key,
        where: `${where}/${key}`,
      });
    }
    if (slot.fixed) {
      throw new Problem('slot-is-fixed', {
        detail: PRODUCT_PROBLEMS['slot-is-fixed'](slot.label),
        received: code,
        where: `${where}/${key}`,
      });
    }
    const finish = finishes.get(foldCode(code));
    if (!finish) throw noFinish(code, `${where}/${key}`);
    kept.push([key, finish.finish]);
  }
  return Object.fromEntries(kept);
}

export function refuseCount(count: number | bigint, limit: number): never {
  throw new Problem('too-many-variants', {
    detail: PRODUCT_PROBLEMS['too-many-variants'].exact(String(count), limit),
    expected: limit,
    received: count > Number.MAX_SAFE_INTEGER ? String(count) : Number(count),
  });
}

interface Used {
  readonly slots: readonly string[];
  readonly finishes: readonly string[];
}

/** By the list of rows: a long one is asked several times in each call, and never changes. */
const usedBy = new WeakMap<readonly Variant[], Used>();

function findUsed(variants: readonly Variant[]): Used {
  const known = usedBy.get(variants);
  if (known) return known;
  const slots = new Set<string>();
  const codes = new Set<string>();
  for (const { choices } of variants) {
    for (const slot of Object.keys(choices)) {
      slots.add(slot);
      codes.add(choices[slot]!);
    }
  }
  const finishes = new Map<string, string>();
  for (const code of codes) if (!finishes.has(foldCode(code))) finishes.set(foldCode(code), code);
  const used = { slots: [...slots], finishes: [...finishes.values()] };
  usedBy.set(variants, used);
  return used;
}

/** Codes of the finishes a schedule uses, with its spelling, each once, in order of appearance. */
export function listUsedFinishes({ variants }: Pick<Schedule, 'variants'>): readonly string[] {
  return findUsed(variants).finishes;
}

/** Keys of the slots that a schedule has choices for. */
export function listNamedSlots({ variants }: Pick<Schedule, 'variants'>): readonly string[] {
  return findUsed(variants).slots;
}
