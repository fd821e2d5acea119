import { foldCode } from '../core/codes.ts';
import type { Article, Finish, StoredFinish } from '../core/finish/finish.ts';
import type { RecallCodes, ResolvedFinish } from '../core/finish/resolve-finish.ts';
import type { Line } from '../core/line/line.ts';
import { type PackedFinishes, type PackedScope, packEntries } from '../core/line/packed-scope.ts';
import type { RuleScope } from '../core/line/rules.ts';
import type { CurrentModel, Stores, TaggedSchedule } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import type { Budget } from '../core/product/budgets.ts';
import type { Finding } from '../core/product/finding.ts';
import { deletedProduct, type Product } from '../core/product/product.ts';
import type { Slot } from '../core/product/slot.ts';
import type { Piece } from '../core/product/survey.ts';
import { listNamedSlots, type Schedule, type Variant } from '../core/schedule/schedule.ts';
import { REPAIR_PROBLEMS } from '../core/texts/problems/model.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { inTurns } from './in-turns.ts';

export interface FinishLibrary {
  /** In the order in which they were first stored. The same array until a finish changes. */
  readonly finishes: readonly StoredFinish[];
  /** By folded code. */
  readonly byCode: ReadonlyMap<string, StoredFinish>;
  /** By folded code. */
  readonly articles: ReadonlyMap<string, Article>;
  resolve(code: string): ResolvedFinish;
  /** The colour codes of a colour map, which levelling needs. */
  readonly recallCodes: RecallCodes;
  /** Findings about a finish: its distance from the specified colour, and values that no real material has. */
  check(code: string): readonly Finding[];
}

/** A product with everything that decisions about it depend on. */
export interface LoadedProduct {
  /** Tells the product from a later one with the same code. */
  readonly id: number;
  readonly product: Product;
  readonly line: Line | null;
  readonly model: CurrentModel | null;
  /** Pieces of the model, if the readiness check needs them; see `mayNeedSeparation`. */
  readonly pieces: readonly Piece[];
  readonly budget: Budget;
  /** With defaults: fields that no person has set follow the model. */
  readonly slots: readonly Slot[];
  readonly schedule: TaggedSchedule | null;
  readonly finishes: FinishLibrary;
}

/** Keys of the slots that the schedule has choices for. They stay, even if a new model lacks their material. */
export function listSlotsInUse({ schedule }: Pick<LoadedProduct, 'schedule'>): Set<string> {
  return new Set(schedule && listNamedSlots(schedule.schedule));
}

/** @throws Problem `unknown-variant`, also without a schedule */
export function requireVariant(
  { product, schedule }: Pick<LoadedProduct, 'product' | 'schedule'>,
  code: string,
): Variant {
  const variant = schedule?.schedule.variants.find((candidate) => foldCode(candidate.code) === foldCode(code));
  if (variant) return variant;
  throw unknownVariant(product, code);
}

export function unknownVariant({ code: product }: Product, code: string): Problem {
  return new Problem('unknown-variant', {
    detail: PRODUCT_PROBLEMS['unknown-variant'](product, code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}

/** @throws Problem `no-model` */
export function requireModel(loaded: LoadedProduct): CurrentModel {
  if (loaded.model) return loaded.model;
  throw new Problem('no-model', {
    detail: PRODUCT_PROBLEMS['no-model'](loaded.product.code),
  });
}

/**
 * Checks in a transaction that a product was not deleted since it was loaded, even if a later one has its code.
 * @throws Problem `unknown-product`
 */
export async function requireSameProduct(tx: Stores, loaded: Pick<LoadedProduct, 'id' | 'product'>) {
  const { code } = loaded.product;
  const now = await tx.getIdentity(code);
  if (now?.id !== loaded.id) throw deletedProduct(code);
  return now;
}

/**
 * Checks in a transaction that a product still has the model with which it was loaded.
 * @throws Problem `unknown-product`, `stale-model`
 */
export async function requireSameModel(
  tx: Stores,
  loaded: Pick<LoadedProduct, 'id' | 'product' | 'model'>,
): Promise<void> {
  const { revision: now } = await requireSameProduct(tx, loaded);
  const was = loaded.model?.revision ?? null;
  if (now === was) return;
  throw new Problem('stale-model', {
    detail: REPAIR_PROBLEMS['stale-model'](now, was),
    expected: was,
    received: now,
  });
}

/** @throws Problem `no-schedule` */
export function requireSchedule(loaded: LoadedProduct): Schedule {
  const schedule = loaded.schedule?.schedule;
  if (schedule && schedule.variants.length > 0) return schedule;
  throw new Problem('no-schedule', {
    detail: PRODUCT_PROBLEMS['no-schedule'](loaded.product.code),
  });
}

/**
 * The same as `toRuleScope`, for another thread: only the finishes that the product may have, with the fields that rules, options
 * and names need. The whole library is packed once, until a finish changes.
 * @param used codes of further finishes, such as those of the schedule
 */
export async function packScope(
  { slots, line, finishes }: Pick<LoadedProduct, 'slots' | 'line' | 'finishes'>,
  used: readonly string[] = [],
): Promise<PackedScope> {
  return {
    slots: slots.map(({ slot, label, position, options, fixed, primitives }) => {
      return { slot, label, position, options, fixed, primitives: primitives.slice(0, 1) };
    }),
    line,
    packed:
      line && line.range.length > 0
        ? await packFinishes(finishes, [...line.range.map(({ finish }) => foldCode(finish)), ...used.map(foldCode)])
        : await packLibrary(finishes),
  };
}

/** By the index of the library's finishes, which is another one after each change, and by its articles. */
const packedLibraries = new WeakMap<object, WeakMap<object, Promise<PackedFinishes>>>();

function packLibrary(library: FinishLibrary): Promise<PackedFinishes> {
  const ofFinishes = packedLibraries.get(library.byCode) ?? new WeakMap<object, Promise<PackedFinishes>>();
  packedLibraries.set(library.byCode, ofFinishes);
  const packed = ofFinishes.get(library.articles) ?? packFinishes(library, library.byCode.keys());
  ofFinishes.set(library.articles, packed);
  return packed;
}

async function packFinishes(library: FinishLibrary, codes: Iterable<string>): Promise<PackedFinishes> {
  const articles = new Map<string, Article>();
  const list = function* (): Generator<[string, Finish]> {
    for (const code of new Set(codes)) {
      const found = library.byCode.get(code);
      if (!found) continue;
      const key = found.article === undefined ? undefined : foldCode(found.article);
      const of = key === undefined || articles.has(key) ? undefined : library.articles.get(key);
      if (of) articles.set(key!, of);
      yield [code, found];
    }
  };
  const finishes = await inTurns(
    packEntries(list(), ({ finish, name, names, family, article, tags, status, companions }) => {
      return { finish, name, names, family, article, tags, status, companions };
    }),
  );
  const plain = ({ article, name, family, companions }: Article) => ({ article, name, family, companions });
  return { finishes, articles: await inTurns(packEntries(articles, plain)) };
}

/** The data that rules depend on, of a loaded product. */
export function toRuleScope({ slots, line, finishes }: Pick<LoadedProduct, 'slots' | 'line' | 'finishes'>): RuleScope {
  return { slots, line, finishes: finishes.byCode, articles: finishes.articles };
}
