import { checkCode, checkName, foldCode } from '../core/codes.ts';
import { noFinish } from '../core/finish/finish.ts';
import { type Line, listLineChanges, type Options, type RangeEntry } from '../core/line/line.ts';
import { type GivenRule, readRules } from '../core/line/rules.ts';
import type { Stores, TaggedLine } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { listFirstChanges } from '../core/texts/answer-texts.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import { createStoreCache } from './caching.ts';
import type { Context } from './context.ts';
import { type ForFinishes, loadFinishes } from './load-finishes.ts';

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
 * Reads a line and writes a new version of it. If another call changes the line in between, a caller that stated a tag gets a
 * problem that lists the changes. Without a tag, the write runs again on the line as it is now.
 * @param ifTag tag of the line that the caller read; null if it accepts overwriting the changes of others
 * @param write gets the line and the tag that the store must still have; null and an empty tag for a new line
 * @throws Problem `stale-line`
 */
export async function writeOnLine<T>(
  { stores }: WithStores,
  code: string,
  ifTag: string | null,
  write: (before: Line | null, tag: string) => Promise<T>,
): Promise<T> {
  for (let attempt = 1; ; attempt++) {
    const before = await stores.getTaggedLine(code);
    try {
      return await write(before?.line ?? null, ifTag ?? before?.tag ?? '');
    } catch (error) {
      if (!(error instanceof Problem) || error.code !== 'stale-line') throw error;
      if (ifTag !== null) throw explain(error, stores, ifTag, await stores.getTaggedLine(code));
      if (attempt === ATTEMPTS) throw error;
    }
  }
}

/** People write far too seldom to collide so often in a row. */
const ATTEMPTS = 5;

/** Lines as callers last read them: enough for the people who edit at the same time, and little memory for long lines. */
const recentlyRead = createStoreCache<Line>(12);

/** Changes named in the sentence. The findings of the problem list all of them. */
const NAMED = 3;

/** Adds the changes since the caller read the line, if that version is still in the cache. */
function explain(stale: Problem, stores: Stores, tag: string, now: TaggedLine | null): Problem {
  const read = recentlyRead(stores).get(tag);
  if (!read || !now) return stale;
  const changes = listLineChanges(read, now.line);
  return new Problem('stale-line', {
    ...stale.more,
    detail: PRODUCT_PROBLEMS['stale-line'].withChanges(stale.message, listFirstChanges(changes, NAMED)),
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
 * @param ifTag tag of the line that the caller read; null if it accepts overwriting the changes of others
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
  return writeOnLine(context, code, ifTag, async (before, tag) => {
    const line = await checkLine(context, code, given, before);
    return { created: await context.stores.putLine(line, tag) };
  });
}

async function checkLine({ stores }: WithStores, code: string, given: GivenLine, before: Line | null): Promise<Line> {
  const known = new Map((await stores.listFinishes()).map((finish) => [foldCode(finish.finish), finish]));
  const positions = given.positions ?? before?.positions ?? [];
  const seen = new Set<string>();
  positions.forEach((position, i) => {
    if (seen.has(position.position)) duplicate(position.position, `/positions/${i}/position`);
    seen.add(position.position);
    checkOptions(position.options, known, `/positions/${i}/options`);
  });
  const inRange = new Set<string>();
  const range =
    given.range?.map((entry, i): RangeEntry => {
      const finish = known.get(foldCode(entry.finish));
      if (!finish) throw noFinish(entry.finish, `/range/${i}/finish`);
      if (inRange.has(foldCode(entry.finish))) duplicate(entry.finish, `/range/${i}/finish`);
      inRange.add(foldCode(entry.finish));
      checkLastOrder(entry.lastOrder, `/range/${i}/lastOrder`);
      const replacedBy = readSuccessor(entry, known, `/range/${i}/replacedBy`);
      const status = entry.status ?? finish.status ?? 'current';
      return { ...entry, finish: finish.finish, status, ...(replacedBy !== undefined && { replacedBy }) };
    }) ??
    before?.range ??
    [];
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
 * @param ifTag tag of the line that the caller read; null if it accepts overwriting the changes of others
 * @throws Problem `unknown-line-code`, `stale-line`, and as `readRules`
 */
export async function putRules(
  context: ForFinishes,
  code: string,
  given: readonly GivenRule[],
  ifTag: string | null = null,
): Promise<void> {
  return writeOnLine(context, code, ifTag, async (before, tag) => {
    const { line, positions } = before ?? (await getLine(context, code));
    const { byCode } = await loadFinishes(context);
    await context.stores.putRules(line, readRules(given, positions, byCode), tag);
  });
}
