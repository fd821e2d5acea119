import { foldCode, isSameCode } from '../core/codes.ts';
import { describeRule, type Line, type LineUse, type WhereUsed } from '../core/line/line.ts';
import { namesFinish } from '../core/line/rules.ts';
import { type ForFinishes, loadFinishes, unknownFinish } from './load-finishes.ts';

/** @throws Problem `unknown-finish-code` */
export async function findWhereUsed(context: ForFinishes, code: string): Promise<WhereUsed> {
  const { stores } = context;
  const library = await loadFinishes(context);
  const finish = library.byCode.get(foldCode(code))?.finish;
  if (finish === undefined) throw unknownFinish(code);
  const [lines, { schedules }, deliveries] = await Promise.all([
    stores.listLines(),
    stores.findUses(finish),
    stores.listDeliveriesWith(finish),
  ]);
  const following = [
    ...[...library.byCode.values()].map(({ finish, companions }) => ({ finish, companions })),
    ...[...library.articles.values()].map(({ article, companions }) => ({ article, companions })),
  ];
  return {
    finish,
    lines: lines.flatMap((line) => describeLine(line, finish) ?? []),
    schedules,
    deliveries,
    companionOf: following.flatMap(({ companions = {}, ...what }) => {
      const positions = Object.keys(companions).filter((position) => isSameCode(companions[position], finish));
      return positions.length > 0 ? [{ ...what, positions }] : [];
    }),
  };
}

/** Null for a line that does not name the finish. */
function describeLine(line: Line, finish: string): LineUse | null {
  const use: LineUse = {
    line: line.line,
    name: line.name,
    status: line.range.find((entry) => isSameCode(entry.finish, finish))?.status ?? null,
    positions: line.positions
      .filter(({ options }) => options?.finishes?.some((code) => isSameCode(code, finish)))
      .map(({ position }) => position),
    rules: line.rules.filter((rule) => namesFinish(rule, finish)).map((rule) => describeRule(rule, line.positions)),
    replaces: line.range.filter(({ replacedBy }) => isSameCode(replacedBy, finish)).map((entry) => entry.finish),
  };
  const named = use.positions.length + use.rules.length + use.replaces.length > 0;
  return use.status !== null || named ? use : null;
}
