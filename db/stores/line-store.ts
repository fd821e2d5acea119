import { createHash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import { type Kysely, type Selectable, sql, type Transaction } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Line, Rule } from '../../server/core/line/line.ts';
import type { Stores, TaggedLine } from '../../server/core/ports/stores.ts';
import { requireExpected } from '../../server/core/precondition.ts';
import { Problem } from '../../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import type { Tables } from '../tables.ts';
import { atomically, inParts } from '../transactions.ts';
import { recordEvent } from './history-store.ts';
import { storeSchedule } from './schedule-store.ts';

export function createLineStore(
  db: Kysely<Tables>,
): Pick<
  Stores,
  'listLines' | 'getLine' | 'getTaggedLine' | 'putLine' | 'putRules' | 'addToRange' | 'applyDiscontinue' | 'deleteLine'
> {
  return {
    listLines() {
      return atomically(db, async (tx) => {
        const lines: Line[] = [];
        for (const row of await tx.selectFrom('lines').selectAll().orderBy('name').execute()) {
          lines.push(await readLine(tx, row));
        }
        return lines;
      });
    },

    // a long range is read in several statements, between which nobody may change it
    getLine: (code) => atomically(db, (tx) => findLine(tx, code)),

    getTaggedLine: (code) => atomically(db, (tx) => findTaggedLine(tx, code)),

    putLine(line, ifTag) {
      return atomically(db, async (tx) => {
        const line_key = foldCode(line.line);
        const rules = JSON.stringify(line.rules);
        const before = await tx.selectFrom('lines').select('line').where('line_key', '=', line_key).executeTakeFirst();
        await requireSameLine(tx, line.line, ifTag);
        await tx
          .insertInto('lines')
          .values({ line_key, line: line.line, name: line.name, rules })
          .onConflict((on) => on.column('line_key').doUpdateSet({ name: line.name, rules }))
          .execute();
        await tx.deleteFrom('line_positions').where('line_key', '=', line_key).execute();
        for (const [ordinal, { position, label, options }] of line.positions.entries()) {
          const values = { line_key, position, ordinal, label, options: options ? JSON.stringify(options) : null };
          await tx.insertInto('line_positions').values(values).execute();
        }
        await writeRange(tx, line_key, line.range);
        return before === undefined;
      });
    },

    async addToRange(code, finishes) {
      const line_key = foldCode(code);
      await atomically(db, async (tx) => {
        const { last } = await tx
          .selectFrom('line_range')
          .select((eb) => eb.fn.max('ordinal').as('last'))
          .where('line_key', '=', line_key)
          .executeTakeFirstOrThrow();
        for (const [index, finish] of finishes.entries()) {
          const ordinal = Number(last ?? -1) + 1 + index;
          const values = { line_key, finish_key: foldCode(finish), ordinal, status: 'current' as const };
          await tx
            .insertInto('line_range')
            .values({ ...values, grade: null, last_order: null, replaced_by: null })
            .onConflict((on) => on.doNothing())
            .execute();
        }
      });
    },

    async putRules(code, rules, ifTag) {
      await atomically(db, async (tx) => {
        await requireSameLine(tx, code, ifTag);
        await tx
          .updateTable('lines')
          .set({ rules: JSON.stringify(rules) })
          .where('line_key', '=', foldCode(code))
          .execute();
      });
    },

    applyDiscontinue({ line, ifTag, finish, replacedBy, stamp, schedules }) {
      return atomically(db, async (tx) => {
        await requireSameLine(tx, line, ifTag);
        const { numUpdatedRows } = await tx
          .updateTable('line_range')
          .set({ status: 'discontinued', replaced_by: replacedBy })
          .where('line_key', '=', foldCode(line))
          .where('finish_key', '=', foldCode(finish))
          .executeTakeFirst();
        if (numUpdatedRows === 0n) {
          throw new Problem('not-in-range', {
            detail: PRODUCT_PROBLEMS['not-in-range'].removed(line, finish),
            received: finish,
          });
        }
        const stored = await tx
          .selectFrom('finishes')
          .select(['finish_key', 'revision'])
          .where('finish_key', '=', foldCode(finish))
          .executeTakeFirstOrThrow();
        await recordEvent(tx, stored, 'discontinued', stamp, { line, ...(replacedBy !== null && { replacedBy }) });
        for (const each of schedules) await storeSchedule(tx, each.product, each.written, each.ifTag);
      });
    },

    async deleteLine(code) {
      const line_key = foldCode(code);
      await atomically(db, async (tx) => {
        const products = await tx.selectFrom('products').select('code').where('line_key', '=', line_key).execute();
        if (products.length > 0) {
          throw new Problem('line-in-use', {
            detail: PRODUCT_PROBLEMS['line-in-use'](products.length),
            findings: products.map((product) => ({ product: product.code })),
          });
        }
        await tx.deleteFrom('lines').where('line_key', '=', line_key).execute();
      });
    },
  };
}

/** Entries of a range that are read in one go, and that one statement writes: some milliseconds either. */
const READ_AT_ONCE = 500;
const WRITTEN_AT_ONCE = 100;

/** Entries of a range in their order, in parts with turns of the event loop in between. */
async function* readRange(tx: Kysely<Tables>, line_key: string) {
  for (let last = { ordinal: -1, finish_key: '' }; ; await setImmediate()) {
    const rows = await tx
      .selectFrom('line_range')
      .innerJoin('finishes', 'finishes.finish_key', 'line_range.finish_key')
      .select([
        'finishes.data',
        'line_range.finish_key',
        'line_range.ordinal',
        'line_range.grade',
        'line_range.status',
        'line_range.last_order',
        'line_range.replaced_by',
      ])
      .where('line_range.line_key', '=', line_key)
      .where(sql<boolean>`(line_range.ordinal, line_range.finish_key) > (${last.ordinal}, ${last.finish_key})`)
      .orderBy('line_range.ordinal')
      .orderBy('line_range.finish_key')
      .limit(READ_AT_ONCE)
      .execute();
    yield rows;
    if (rows.length < READ_AT_ONCE) return;
    last = rows.at(-1)!;
  }
}

/** Writes what changed of a range: to write fifty thousand entries takes seconds. */
async function writeRange(tx: Transaction<Tables>, line_key: string, range: Line['range']): Promise<void> {
  const stored = new Map<string, string>();
  for await (const rows of readRange(tx, line_key)) {
    for (const { data: _, finish_key, ...row } of rows) stored.set(finish_key, describe(row));
  }
  let ordinal = 0;
  for (const part of inParts(range, READ_AT_ONCE)) {
    const changed = part.flatMap(({ finish, grade, status, lastOrder, replacedBy }) => {
      const finish_key = foldCode(finish);
      const leaving = { last_order: lastOrder ?? null, replaced_by: replacedBy ?? null };
      const row = { ordinal: ordinal++, grade: grade ?? null, status, ...leaving };
      const isSame = stored.get(finish_key) === describe(row);
      stored.delete(finish_key);
      return isSame ? [] : [{ line_key, finish_key, ...row }];
    });
    for (const rows of inParts(changed, WRITTEN_AT_ONCE)) {
      await tx
        .insertInto('line_range')
        .values(rows)
        .onConflict((on) =>
          on.columns(['line_key', 'finish_key']).doUpdateSet((eb) => ({
            ordinal: eb.ref('excluded.ordinal'),
            grade: eb.ref('excluded.grade'),
            status: eb.ref('excluded.status'),
            last_order: eb.ref('excluded.last_order'),
            replaced_by: eb.ref('excluded.replaced_by'),
          })),
        )
        .execute();
      await setImmediate();
    }
    if (part.length === READ_AT_ONCE) await setImmediate();
  }
  for (const keys of inParts([...stored.keys()], WRITTEN_AT_ONCE)) {
    await tx.deleteFrom('line_range').where('line_key', '=', line_key).where('finish_key', 'in', keys).execute();
    await setImmediate();
  }
}

type RangeRow = Pick<Selectable<Tables['line_range']>, 'ordinal' | 'grade' | 'status' | 'last_order' | 'replaced_by'>;
const describe = ({ ordinal, grade, status, last_order, replaced_by }: RangeRow): string =>
  JSON.stringify([ordinal, grade, status, last_order, replaced_by]);

/** @throws Problem `stale-line` */
async function requireSameLine(tx: Transaction<Tables>, code: string, ifTag: string | null): Promise<void> {
  if (ifTag !== null) requireExpected('line', code, (await findTaggedLine(tx, code))?.tag ?? null, ifTag);
}

async function findTaggedLine(db: Kysely<Tables>, code: string): Promise<TaggedLine | null> {
  const line = await findLine(db, code);
  return line && { line, tag: await makeTag(line) };
}

/** The digest of the line as JSON. Fields are read in a fixed order, so the same line has the same tag. */
async function makeTag({ line, name, positions, range, rules }: Line): Promise<string> {
  const hash = createHash('sha256').update(`${JSON.stringify({ line, name, positions }).slice(0, -1)},"range":[`);
  let before = '';
  for (const part of inParts(range, READ_AT_ONCE)) {
    hash.update(`${before}${JSON.stringify(part).slice(1, -1)}`);
    before = ',';
    if (part.length === READ_AT_ONCE) await setImmediate();
  }
  return hash.update(`],"rules":${JSON.stringify(rules)}}`).digest('hex');
}

async function findLine(db: Kysely<Tables>, code: string): Promise<Line | null> {
  const row = await db.selectFrom('lines').selectAll().where('line_key', '=', foldCode(code)).executeTakeFirst();
  return row ? readLine(db, row) : null;
}

async function readLine(db: Kysely<Tables>, row: Selectable<Tables['lines']>): Promise<Line> {
  const positions = await db
    .selectFrom('line_positions')
    .selectAll()
    .where('line_key', '=', row.line_key)
    .orderBy('ordinal')
    .execute();
  const range: Line['range'][number][] = [];
  for await (const rows of readRange(db, row.line_key)) {
    for (const { data, grade, status, last_order, replaced_by } of rows) {
      range.push({
        finish: (JSON.parse(data) as { finish: string }).finish,
        ...(grade !== null && { grade }),
        status: status as Line['range'][number]['status'],
        ...(last_order !== null && { lastOrder: last_order }),
        ...(replaced_by !== null && { replacedBy: replaced_by }),
      });
    }
  }
  return {
    line: row.line,
    name: row.name,
    positions: positions.map(({ position, label, options }) => ({
      position,
      label,
      ...(options && { options: JSON.parse(options) }),
    })),
    range,
    rules: JSON.parse(row.rules) as Rule[],
  };
}
