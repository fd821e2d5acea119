import { checkCode, checkName, foldCode } from '../core/codes.ts';
import type { Line, Options, RangeEntry } from '../core/line/line.ts';
import { type GivenRule, readRules } from '../core/line/read-rules.ts';
import { Problem } from '../core/problems.ts';
import { FINISH_PROBLEMS } from '../core/texts/problems/finish.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { getLine, writeOnLine } from './get-line.ts';
import { type ForFinishes, loadFinishes } from './load-finishes.ts';

/** A line as it is given: positions, range and rules may be left out, and keep what they were. */
export interface GivenLine {
  readonly name: string;
  readonly positions?: Line['positions'];
  readonly range?: readonly (Omit<RangeEntry, 'status'> & Partial<Pick<RangeEntry, 'status'>>)[];
  readonly rules?: readonly GivenRule[];
}

/**
 * Stores a line whole; what is left out stays as it is, also where another call changes it in the same moment.
 * @param ifTag tag of the line that the caller read; null when it does not mind what it overwrites
 * @throws Problem `invalid-code`, `invalid-name`, `duplicate-code`, `unknown-finish`, `invalid-field`, and as `readRules`;
 *   `unknown-position` also when a rule that stands names a position that would go; `stale-line`
 */
export async function putLine(
  context: Pick<Context, 'stores'>,
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

async function checkLine(
  { stores }: Pick<Context, 'stores'>,
  code: string,
  given: GivenLine,
  before: Line | null,
): Promise<Line> {
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

/** @throws Problem `invalid-field` for what is no day of the calendar */
function checkLastOrder(day: string | undefined, where: string): void {
  if (day === undefined) return;
  const date = /^\d{4}-\d{2}-\d{2}$/.test(day) ? new Date(`${day}T00:00:00Z`) : new Date(Number.NaN);
  // 30 February would be read as a day in March
  if (!Number.isNaN(date.getTime()) && date.toISOString().startsWith(day)) return;
  throw new Problem('invalid-field', {
    detail: PRODUCT_PROBLEMS['invalid-field'].lastOrderDate(day),
    expected: 'yyyy-mm-dd',
    received: day,
    where,
  });
}

function noFinish(code: string, where: string): Problem {
  return new Problem('unknown-finish', {
    detail: FINISH_PROBLEMS['unknown-finish'].byCode(code),
    received: code,
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
 * Stores the rules of a line whole. Schedules that break one are not changed: their products say so in their readiness.
 * @param ifTag tag of the line that the caller read; null when it does not mind what it overwrites
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
