import { checkCode, checkName, foldCode } from '../core/codes.ts';
import { noFinish, type StoredFinish } from '../core/finish/finish.ts';
import { type Line, listLineChanges, type Options, type RangeEntry } from '../core/line/line.ts';
import { type GivenRule, readRules } from '../core/line/rules.ts';
import type { Stores, TaggedLine } from '../core/ports/stores.ts';
import { requireExpected } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { SLICE, type Sliced } from '../core/slices.ts';
import { listFirstChanges } from '../core/texts/answer-texts.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { addChanges } from '../core/texts/problems/stale.ts';
import { createStoreCache } from './caching.ts';
import type { Context } from './context.ts';
import { inTurns } from './in-turns.ts';
import { indexFinishes } from './load-finishes.ts';

type WithStores = Pick<Context, 'stores'>;

/** @throws Problem `unknown-line-code` */
export async function getLine({ stores }: WithStores, code: string): Promise<Line> {
  return (await stores.getLine(code)) ?? refuseUnknown(code);
}

/** The line with the tag that protects it from overwriting. @throws Problem `unknown-line-code` */
export async function getTaggedLine({ stores }: WithStores, code: string): Promise<TaggedLine> {
  const tagged = (await stores.getTaggedLine(code)) ?? refuseUnknown(code);
  recentlyRead(stores).set(tagged.tag, tagged.line);
  return tagged;
}

/**
 * Reads a line and writes a new version of it, in one transaction. If another call has changed the line since the caller read
 * it, the problem lists the changes.
 * @param ifTag see `requireExpected`
 * @param write gets the line; null for a new one
 * @throws Problem `stale-line`
 */
export async function writeOnLine<T>(
  { stores }: WithStores,
  code: string,
  ifTag: string | null,
  write: (tx: Stores, before: Line | null) => Promise<T>,
): Promise<T> {
  return stores.transaction(async (tx) => {
    const before = await tx.getTaggedLine(code);
    try {
      requireExpected('line', code, before?.tag ?? null, ifTag);
    } catch (error) {
      throw error instanceof Problem && ifTag !== null ? explain(error, stores, ifTag, before) : error;
    }
    return write(tx, before?.line ?? null);
  });
}

/** About twenty lines of a thousand finishes. */
const LINES_KEPT_BYTES = 4 * 1024 * 1024;

/** Lines as callers last read them: enough for the people who edit at the same time, and little memory for long lines. */
const recentlyRead = createStoreCache<Line>(
  LINES_KEPT_BYTES,
  ({ range, rules, positions }) => range.length * 200 + (rules.length + positions.length) * 500,
);

/** Changes named in the sentence. The findings of the problem list all of them. */
const NAMED = 3;

/** Adds the changes since the caller read the line, if that version is still in the cache. */
function explain(stale: Problem, stores: Stores, tag: string, now: TaggedLine | null): Problem {
  const read = recentlyRead(stores).get(tag);
  if (!read || !now) return stale;
  const changes = listLineChanges(read, now.line);
  return new Problem('stale-line', {
    ...stale.more,
    detail: addChanges(stale.message, listFirstChanges(changes, NAMED)),
    findings: changes.map((message) => ({ message })),
  });
}

function refuseUnknown(code: string): never {
  throw new Problem('unknown-line-code', {
    detail: PRODUCT_PROBLEMS['unknown-line-code'](code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}

/** A line in a call. Positions, range and rules that are left out stay as they are. */
interface GivenLine {
  readonly name: string;
  readonly positions?: Line['positions'];
  readonly range?: readonly (Omit<RangeEntry, 'status'> & Partial<Pick<RangeEntry, 'status'>>)[];
  readonly rules?: readonly GivenRule[];
}

/**
 * Stores a line. Fields that are left out stay as they are, even if another call changes them at the same moment.
 * @param ifTag see `requireExpected`
 * @throws Problem `invalid-code`, `invalid-name`, `duplicate-code`, `unknown-finish`, `invalid-field`, `stale-line`, and as
 *   `readRules`; `unknown-position` also if an existing rule names a position that the call removes
 */
export async function putLine(
  context: WithStores,
  code: string,
  given: GivenLine,
  ifTag: string | null = null,
): Promise<{ readonly created: boolean }> {
  checkCode(code, 'line');
  return writeOnLine(context, code, ifTag, async (tx, before) => {
    const known = await indexFinishes(await tx.listFinishes());
    const line = await inTurns(checkLineSliced(code, given, before, known));
    return { created: await tx.putLine(line, null) };
  });
}

/**
 * Deletes a line without products.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-line-code`, `stale-line`, `line-in-use`
 */
export async function deleteLine(context: WithStores, code: string, ifTag: string | null = null): Promise<void> {
  await writeOnLine(context, code, ifTag, async (tx, before) => {
    if (!before) refuseUnknown(code);
    await tx.deleteLine(code);
  });
}

export function* checkLineSliced(
  code: string,
  given: GivenLine,
  before: Line | null,
  known: ReadonlyMap<string, StoredFinish>,
): Sliced<Line> {
  const positions = given.positions ?? before?.positions ?? [];
  const seen = new Set<string>();
  positions.forEach((position, i) => {
    if (seen.has(position.position)) duplicate(position.position, `/positions/${i}/position`);
    seen.add(position.position);
    checkOptions(position.options, known, `/positions/${i}/options`);
  });
  const inRange = new Set<string>();
  const checkEntry = (entry: NonNullable<GivenLine['range']>[number], i: number): RangeEntry => {
    const finish = known.get(foldCode(entry.finish));
    if (!finish) throw noFinish(entry.finish, `/range/${i}/finish`);
    if (inRange.has(foldCode(entry.finish))) duplicate(entry.finish, `/range/${i}/finish`);
    inRange.add(foldCode(entry.finish));
    checkLastOrder(entry.lastOrder, `/range/${i}/lastOrder`);
    const replacedBy = readSuccessor(entry, known, `/range/${i}/replacedBy`);
    const status = entry.status ?? finish.status ?? 'current';
    return { ...entry, finish: finish.finish, status, ...(replacedBy !== undefined && { replacedBy }) };
  };
  const checked: RangeEntry[] = [];
  for (const [i, entry] of (given.range ?? []).entries()) {
    checked.push(checkEntry(entry, i));
    if (checked.length % SLICE === 0) yield;
  }
  const range = given.range ? checked : (before?.range ?? []);
  return {
    line: before?.line ?? code,
    name: checkName(given.name, '/name'),
    positions: positions.map((position, i) => ({
      ...position,
      label: checkName(position.label, `/positions/${i}/label`),
    })),
    range,
    rules: readRules(given.rules ?? before?.rules ?? [], positions, known),
  };
}

/** @throws Problem `unknown-finish` */
export function checkOptions(
  options: Options | null | undefined,
  known: ReadonlyMap<string, unknown>,
  where: string,
): void {
  options?.finishes?.forEach((finish, i) => {
    if (!known.has(foldCode(finish))) throw noFinish(finish, `${where}/finishes/${i}`);
  });
}

/** @throws Problem `unknown-finish`, `invalid-field` */
function readSuccessor(
  { finish, replacedBy }: Pick<RangeEntry, 'finish' | 'replacedBy'>,
  known: ReadonlyMap<string, { readonly finish: string }>,
  where: string,
): string | undefined {
  if (replacedBy === undefined) return undefined;
  const successor = known.get(foldCode(replacedBy));
  if (!successor) throw noFinish(replacedBy, where);
  if (foldCode(replacedBy) !== foldCode(finish)) return successor.finish;
  throw new Problem('invalid-field', {
    detail: PRODUCT_PROBLEMS['invalid-field'].ownSuccessor(finish),
    received: replacedBy,
    where,
  });
}

/** @throws Problem `invalid-field` for a date that does not exist */
function checkLastOrder(day: string | undefined, where: string): void {
  if (day === undefined) return;
  const date = /^\d{4}-\d{2}-\d{2}$/.test(day) ? new Date(`${day}T00:00:00Z`) : new Date(Number.NaN);
  // JavaScript reads 30 February as a day in March
  if (!Number.isNaN(date.getTime()) && date.toISOString().startsWith(day)) return;
  throw new Problem('invalid-field', {
    detail: PRODUCT_PROBLEMS['invalid-field'].lastOrderDate(day),
    expected: 'yyyy-mm-dd',
    received: day,
    where,
  });
}

function duplicate(code: string, where: string): never {
  throw new Problem('duplicate-code', {
    detail: PRODUCT_PROBLEMS['duplicate-code'].listed(code),
    received: code,
    where,
  });
}

/**
 * Replaces the rules of a line. Schedules that break a rule stay as they are: the readiness of their products reports it.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-line-code`, `stale-line`, and as `readRules`
 */
export async function putRules(
  context: WithStores,
  code: string,
  given: readonly GivenRule[],
  ifTag: string | null = null,
): Promise<void> {
  return writeOnLine(context, code, ifTag, async (tx, before) => {
    const { line, positions } = before ?? refuseUnknown(code);
    await tx.putRules(line, readRules(given, positions, await indexFinishes(await tx.listFinishes())), null);
  });
}
