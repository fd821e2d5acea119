import { createHash } from 'node:crypto';
import { type Kysely, sql } from 'kysely';
import { type AuditRecord, FIRST_DIGEST, textOfEntry } from '../server/core/access/audit.ts';
import type { Tables } from './tables.ts';
import { atomically } from './transactions.ts';

/** Kinds of remarks on what rows say of each other. */
type RowFault = 'wrong-uses' | 'low-counter' | 'lost-revision' | 'broken-json' | 'broken-audit';

interface RowRemark {
  readonly code: RowFault;
  readonly subject: string;
  readonly places: readonly string[];
  readonly mended: boolean;
}

interface RowCheck {
  readonly code: RowFault;
  /** Selects `subject`, one row for each fault. */
  readonly find: string;
  /** Statements that correct all faults; none where nothing but a backup helps. */
  readonly mend: readonly string[];
}

/** Finishes of a schedule, and in how many variants. */
const USES_OF_SCHEDULE = `
  SELECT lower(choice.value) AS finish_key, count(DISTINCT variant.key) AS variants
  FROM json_each(schedules.data, '$.variants') AS variant, json_each(variant.value, '$.choices') AS choice
  GROUP BY lower(choice.value)`;
const USES_OF_DELIVERY = `
  SELECT DISTINCT lower(json_extract(listed.value, '$.finish')) AS finish_key
  FROM json_each(deliveries.manifest, '$.finishes') AS listed`;
const STORED_OF_SCHEDULE = `SELECT finish_key, variants FROM schedule_uses WHERE product_key = schedules.product_key`;
const STORED_OF_DELIVERY = `SELECT finish_key FROM delivery_uses
  WHERE product_key = deliveries.product_key AND delivery = deliveries.delivery`;
const MOST = (table: string, number: string) =>
  `coalesce((SELECT max(${number}) FROM ${table} WHERE ${table}.product_key = products.product_key), 0)`;
const HIGHEST = `SELECT product_key, ${MOST('models', 'revision')} AS revision, ${MOST('deliveries', 'delivery')} AS delivery
  FROM products`;

/** What rows say of each other. Lists that only make questions quick are made again from what they list. */
const CHECKS: readonly RowCheck[] = [
  {
    code: 'wrong-uses',
    find: `SELECT 'schedule of ' || product_key AS subject FROM schedules WHERE json_valid(data) AND (
        EXISTS (SELECT * FROM (${USES_OF_SCHEDULE}) EXCEPT ${STORED_OF_SCHEDULE})
        OR EXISTS (${STORED_OF_SCHEDULE} EXCEPT SELECT * FROM (${USES_OF_SCHEDULE})))
      UNION ALL SELECT 'delivery ' || product_key || '/' || delivery FROM deliveries WHERE json_valid(manifest) AND (
        EXISTS (SELECT * FROM (${USES_OF_DELIVERY}) EXCEPT ${STORED_OF_DELIVERY})
        OR EXISTS (${STORED_OF_DELIVERY} EXCEPT SELECT * FROM (${USES_OF_DELIVERY})))`,
    mend: [
      'DELETE FROM schedule_uses',
      `INSERT INTO schedule_uses (product_key, finish_key, variants)
        SELECT product_key, lower(choice.value), count(DISTINCT variant.key)
        FROM schedules, json_each(schedules.data, '$.variants') AS variant, json_each(variant.value, '$.choices') AS choice
        WHERE lower(choice.value) IN (SELECT finish_key FROM finishes) GROUP BY product_key, lower(choice.value)`,
      'DELETE FROM delivery_uses',
      `INSERT OR IGNORE INTO delivery_uses (product_key, delivery, finish_key)
        SELECT product_key, delivery, lower(json_extract(listed.value, '$.finish'))
        FROM deliveries, json_each(deliveries.manifest, '$.finishes') AS listed`,
    ],
  },
  {
    // another model or delivery would get a number that was given out
    code: 'low-counter',
    find: `SELECT highest.product_key AS subject FROM (${HIGHEST}) AS highest
      LEFT JOIN counters ON counters.product_key = highest.product_key
      WHERE highest.revision > coalesce(counters.revision, 0) OR highest.delivery > coalesce(counters.delivery, 0)`,
    mend: [
      `INSERT INTO counters (product_key, revision, delivery) SELECT * FROM (${HIGHEST}) WHERE revision > 0 OR delivery > 0
        ON CONFLICT (product_key) DO UPDATE SET
          revision = max(revision, excluded.revision), delivery = max(delivery, excluded.delivery)`,
    ],
  },
  {
    code: 'lost-revision',
    find: `SELECT product_key AS subject FROM products WHERE current_revision IS NOT NULL AND NOT EXISTS (
      SELECT 1 FROM models WHERE models.product_key = products.product_key AND revision = current_revision)`,
    mend: [
      `UPDATE products SET current_revision =
          (SELECT max(revision) FROM models WHERE models.product_key = products.product_key)
        WHERE current_revision IS NOT NULL AND NOT EXISTS (
          SELECT 1 FROM models WHERE models.product_key = products.product_key AND revision = current_revision)`,
    ],
  },
  {
    code: 'broken-json',
    find: [
      ['lines', 'line_key', 'rules'],
      ['articles', 'article_key', 'data'],
      ['finishes', 'finish_key', 'data'],
      ['models', "product_key || '/' || revision", 'survey'],
      ['slots', "product_key || '/' || slot", 'data'],
      ['schedules', 'product_key', 'data'],
      ['deliveries', "product_key || '/' || delivery", 'manifest'],
      ['preparations', 'product_key', 'steps'],
      ['picture_sets', 'set_key', 'data'],
      ['budgets', 'budget', 'data'],
      ['approvals', 'subject', 'data'],
    ]
      .map(
        ([table, key, column]) =>
          `SELECT '${table} ' || ${key} AS subject FROM ${table} WHERE NOT json_valid(${column})`,
      )
      .join(' UNION ALL '),
    mend: [],
  },
];

/** Checks what rows say of each other, and the chain of the audit. */
export async function checkRows(db: Kysely<Tables>, mend: boolean): Promise<RowRemark[]> {
  const remarks: RowRemark[] = [];
  for (const { code, find, mend: statements } of CHECKS) {
    const { rows } = await sql<{ subject: string }>`${sql.raw(find)}`.execute(db);
    const mended = mend && statements.length > 0;
    if (rows.length > 0 && mended) {
      await atomically(db, async (tx) => {
        for (const statement of statements) await sql`${sql.raw(statement)}`.execute(tx);
      });
    }
    remarks.push(...rows.map(({ subject }): RowRemark => ({ code, subject, places: [], mended })));
  }
  const broken = await findBrokenEntry(db);
  if (broken !== null) remarks.push({ code: 'broken-audit', subject: String(broken), places: [], mended: false });
  return remarks;
}

const ENTRIES_AT_ONCE = 1000;

/** The first entry of the audit that does not follow the one before it; null for a whole chain. */
async function findBrokenEntry(db: Kysely<Tables>): Promise<number | null> {
  let last = 0;
  let previous = FIRST_DIGEST;
  for (;;) {
    const rows = await db
      .selectFrom('audit')
      .selectAll()
      .where('entry', '>', last)
      .orderBy('entry')
      .limit(ENTRIES_AT_ONCE)
      .execute();
    for (const row of rows) {
      const text = readText(row.entry, row.record, previous);
      const isNext = row.entry === last + 1 && row.previous === previous;
      if (!isNext || text === null || createHash('sha256').update(text).digest('hex') !== row.digest) return row.entry;
      last = row.entry;
      previous = row.digest;
    }
    if (rows.length < ENTRIES_AT_ONCE) return null;
  }
}

function readText(entry: number, record: string, previous: string): string | null {
  try {
    return textOfEntry(entry, JSON.parse(record) as AuditRecord, previous);
  } catch {
    return null;
  }
}
