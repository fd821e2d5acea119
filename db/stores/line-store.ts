import { createHash } from 'node:crypto';
import type { Kysely, Selectable, Transaction } from 'kysely';
import { foldCode } from '../../server/core/codes.ts';
import type { Line, Rule } from '../../server/core/line/line.ts';
import type { Stores, TaggedLine } from '../../server/core/ports/stores.ts';
import { requireExpected } from '../../server/core/precondition.ts';
import { Problem } from '../../server/core/problems.ts';
import { PRODUCT_PROBLEMS } from '../../server/core/texts/problems/product.ts';
import type { Tables } from '../tables.ts';
import { atomically } from '../transactions.ts';
import { recordEvent } from './history-store.ts';
import { storeSchedule } from './schedule-store.ts';

export function createLineStore(
  db: Kysely<Tables>,
): Pick<
  Stores,
  'listLines' | 'getLine' | 'getTaggedLine' | 'putLine' | 'putRules' | 'addToRange' | 'applyDiscontinue' | 'deleteLine'
> {
  return {
    async listLines() {
      const rows = await db.selectFrom('lines').selectAll().orderBy('name').execute();
      return Promise.all(rows.map((row) => readLine(db, row)));
    },

    getLine: (code) => findLine(db, code),

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
        await tx.deleteFrom('line_range').where('line_key', '=', line_key).execute();
        for (const [ordinal, { position, label, options }] of line.positions.entries()) {
          const values = { line_key, position, ordinal, label, options: options ? JSON.stringify(options) : null };
          await tx.insertInto('line_positions').values(values).execute();
        }
        for (const [ordinal, { finish, grade, status, lastOrder, replacedBy }] of line.range.entries()) {
          const leaving = { last_order: lastOrder ?? null, replaced_by: replacedBy ?? null };
          const values = { line_key, finish_key: foldCode(finish), ordinal, grade: grade ?? null, status, ...leaving };
          await tx.insertInto('line_range').values(values).execute();
        }
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

/** @throws Problem `stale-line` */
async function requireSameLine(tx: Transaction<Tables>, code: string, ifTag: string | null): Promise<void> {
  if (ifTag !== null) requireExpected('line', code, (await findTaggedLine(tx, code))?.tag ?? null, ifTag);
}

async function findTaggedLine(db: Kysely<Tables>, code: string): Promise<TaggedLine | null> {
  const line = await findLine(db, code);
  // fields are read in a fixed order, so the same line has the same tag
  return line && { line, tag: createHash('sha256').update(JSON.stringify(line)).digest('hex') };
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
  const range = await db
    .selectFrom('line_range')
    .innerJoin('finishes', 'finishes.finish_key', 'line_range.finish_key')
    .select([
      'finishes.data',
      'line_range.grade',
      'line_range.status',
      'line_range.last_order',
      'line_range.replaced_by',
    ])
    .where('line_range.line_key', '=', row.line_key)
    .orderBy('line_range.ordinal')
    .execute();
  return {
    line: row.line,
    name: row.name,
    positions: positions.map(({ position, label, options }) => ({
      position,
      label,
      ...(options && { options: JSON.parse(options) }),
    })),
    range: range.map(({ data, grade, status, last_order, replaced_by }) => ({
      finish: (JSON.parse(data) as { finish: string }).finish,
      ...(grade !== null && { grade }),
      status: status as Line['range'][number]['status'],
      ...(last_order !== null && { lastOrder: last_order }),
      ...(replaced_by !== null && { replacedBy: replaced_by }),
    })),
    rules: JSON.parse(row.rules) as Rule[],
  };
}
