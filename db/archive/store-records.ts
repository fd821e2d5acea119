import { setImmediate } from 'node:timers/promises';
import type Sqlite from 'better-sqlite3';
import { type Kysely, sql } from 'kysely';
import {
  type ArchiveDecisions,
  type ArchiveKind,
  type DecidedEntry,
  decideEntries,
} from '../../server/core/archive/archive.ts';
import { foldCode } from '../../server/core/codes.ts';
import type { Article, Finish } from '../../server/core/finish/finish.ts';
import type { Change } from '../../server/core/history/history.ts';
import type { ImportSource } from '../../server/core/ports/archives.ts';
import type { Stores } from '../../server/core/ports/stores.ts';
import { Problem } from '../../server/core/problems.ts';
import { ARCHIVE_PROBLEMS } from '../../server/core/texts/problems/archive.ts';
import type { Tables } from '../tables.ts';
import { compareRecords, DEFINITIONS, PRODUCT_FIELDS, textOf } from './compare-records.ts';

type Row = Record<string, string | number | null>;

export interface RecordTarget {
  readonly tx: Kysely<Tables>;
  /** On the same transaction. */
  readonly stores: Pick<Stores, 'putFinish' | 'putArticle'>;
  /** Called when finishes or articles were written past the stores. */
  readonly forgetLists: () => void;
}

/** Rows after which others of this process get a turn. */
const ROWS_AT_ONCE = 20;

/**
 * Stores the records of an archive in a transaction. Things without a change are left as they are, so a second import of the
 * same archive writes nothing.
 *
 * What is new arrives as it was: with its numbers, its history, its deliveries, and the decisions about it. A definition that
 * replaces another becomes its next revision.
 * @throws Problem `archive-conflicts`
 */
export async function storeRecords(
  staged: Sqlite.Database,
  target: RecordTarget,
  decisions: ArchiveDecisions,
  change: Change,
  source: ImportSource,
): Promise<readonly DecidedEntry[]> {
  const { tx } = target;
  const decided = decideEntries(await compareRecords(staged, tx), decisions);
  const open = decided.filter(({ outcome }) => outcome === 'undecided');
  if (open.length > 0) throw conflicts(open);
  const write = createWriter(staged, tx);
  const of = (kind: ArchiveKind, ...outcomes: readonly DecidedEntry['outcome'][]) =>
    decided
      .filter((entry) => entry.kind === kind && outcomes.includes(entry.outcome))
      .map(({ code }) => foldCode(code));

  await storeImages(write);
  await storeDefinitions(target, write, decided, change);
  for (const key of of('line', 'create')) {
    for (const table of ['lines', 'line_positions', 'line_range']) await write.copy(table, 'line_key = ?', key);
  }
  for (const key of of('line', 'replace')) {
    await write.update('lines', 'line_key', key, ['name', 'rules']);
    for (const table of ['line_positions', 'line_range']) await write.renew(table, 'line_key', key);
  }
  for (const key of of('product', 'create')) await createProduct(write, key);
  for (const key of of('product', 'replace')) await replaceProduct(write, key);
  const approvals = await storeApprovals(staged, tx, write, decided);
  const changed = decided.some(({ outcome }) => outcome === 'create' || outcome === 'replace');
  if (changed || approvals > 0) await recordImport(staged, tx, write, decided, change, source);
  return decided;
}

function conflicts(open: readonly DecidedEntry[]): Problem {
  const kinds = [...new Set(open.map(({ kind }) => kind))];
  return new Problem('archive-conflicts', {
    detail: ARCHIVE_PROBLEMS['archive-conflicts'](open.length, kinds),
    expected: kinds.map((kind) => `${kind}=keep|replace`),
    findings: open.slice(0, 200),
  });
}

/** Copies rows from the records to the tables. Numbers that a table gives out itself are given out anew. */
function createWriter(staged: Sqlite.Database, tx: Kysely<Tables>) {
  let written = 0;
  async function insert(table: string, row: Row, onConflict = ''): Promise<void> {
    const columns = Object.keys(row).filter((column) => !(column === 'ordinal' && SERIAL.has(table)));
    await sql`INSERT INTO ${sql.table(table)} (${sql.join(columns.map((column) => sql.ref(column)))})
      VALUES (${sql.join(columns.map((column) => row[column]))}) ${sql.raw(onConflict)}`.execute(tx);
    if (++written % ROWS_AT_ONCE === 0) await setImmediate();
  }
  const list = (table: string, condition: string, key: string) => {
    // numbers that are given out in order
    const order = SERIAL.has(table) ? ' ORDER BY ordinal' : '';
    return staged.prepare(`SELECT * FROM "${table}" WHERE ${condition}${order}`).all(key) as Row[];
  };
  return {
    insert,
    list,
    async copy(table: string, condition: string, key: string, onConflict = ''): Promise<void> {
      for (const row of list(table, condition, key)) await insert(table, row, onConflict);
    },
    async update(table: string, column: string, key: string, columns: readonly string[]): Promise<void> {
      for (const row of list(table, `"${column}" = ?`, key)) {
        const sets = columns.map((name) => sql`${sql.ref(name)} = ${row[name]}`);
        await sql`UPDATE ${sql.table(table)} SET ${sql.join(sets)} WHERE ${sql.ref(column)} = ${key}`.execute(tx);
      }
    },
    async renew(table: string, column: string, key: string): Promise<void> {
      await sql`DELETE FROM ${sql.table(table)} WHERE ${sql.ref(column)} = ${key}`.execute(tx);
      await this.copy(table, `"${column}" = ?`, key);
    },
  };
}
type Writer = ReturnType<typeof createWriter>;

/** Tables whose `ordinal` is the number of a row in this database, not a place in a list. */
const SERIAL: ReadonlySet<string> = new Set(['finishes', 'products', 'approvals', 'history']);

const OF_PRODUCT = 'product_key = ?';
/** Nothing of these is ever changed, so rows that are there stay. */
const LASTING = ['models', 'deliveries', 'delivery_uses', 'delivery_files', 'delivered_codes'];
const EDITED = ['slots', 'schedules', 'schedule_uses', 'preparations'];

/** What is stored stands, except that a delivery can be withdrawn. */
const WITHDRAW = `ON CONFLICT (product_key, delivery) DO UPDATE SET withdrawn = excluded.withdrawn
  WHERE deliveries.withdrawn IS NULL AND excluded.withdrawn IS NOT NULL`;

async function createProduct(write: Writer, key: string): Promise<void> {
  for (const table of ['products', ...LASTING, ...EDITED]) await write.copy(table, OF_PRODUCT, key);
  await raiseCounters(write, key);
}

async function replaceProduct(write: Writer, key: string): Promise<void> {
  await write.update('products', 'product_key', key, PRODUCT_FIELDS);
  for (const table of LASTING)
    await write.copy(table, OF_PRODUCT, key, table === 'deliveries' ? WITHDRAW : 'ON CONFLICT DO NOTHING');
  // uses refer to the schedule, so they go first and come last
  for (const table of EDITED) await write.renew(table, 'product_key', key);
  await raiseCounters(write, key);
}

/** Numbers are never given out twice, neither those of this store nor those of the earlier one. */
async function raiseCounters(write: Writer, key: string): Promise<void> {
  const raise = `ON CONFLICT (product_key) DO UPDATE SET
    revision = max(revision, excluded.revision), delivery = max(delivery, excluded.delivery)`;
  await write.copy('counters', OF_PRODUCT, key, raise);
  // an SKU that was sent out here for another choice keeps its meaning
  await write.copy('sent_skus', OF_PRODUCT, key, 'ON CONFLICT DO NOTHING');
}

async function storeImages(write: Writer): Promise<void> {
  for (const table of ['images', 'map_facts']) await write.copy(table, "'' = ?", '', 'ON CONFLICT DO NOTHING');
}

async function storeDefinitions(
  { tx, stores, forgetLists }: RecordTarget,
  write: Writer,
  decided: readonly DecidedEntry[],
  change: Change,
): Promise<void> {
  for (const kind of ['article', 'finish', 'budget', 'picture-set'] as const) {
    const { table, key: column } = DEFINITIONS[kind];
    for (const { code, outcome } of decided.filter((entry) => entry.kind === kind)) {
      if (outcome !== 'create' && outcome !== 'replace') continue;
      const key = kind === 'budget' ? code : foldCode(code);
      const [row] = write.list(table, `"${column}" = ?`, key);
      const definition = JSON.parse(String(row!.data)) as unknown;
      if (kind === 'budget' || kind === 'picture-set') {
        await write.insert(table, row!, `ON CONFLICT ("${column}") DO UPDATE SET data = excluded.data`);
      } else if (outcome === 'create' && !(await hasHistory(tx, kind, key))) {
        await write.insert(table, row!);
        await write.copy('history', `kind = '${kind}' AND code_key = ?`, key);
        forgetLists();
      } else if (kind === 'finish') await stores.putFinish(definition as Finish, change);
      else await stores.putArticle(definition as Article, change);
    }
  }
}

/** A code that was used here before goes on from its last revision. */
async function hasHistory(tx: Kysely<Tables>, kind: 'finish' | 'article', key: string): Promise<boolean> {
  const found = await tx
    .selectFrom('history')
    .select('ordinal')
    .where('kind', '=', kind)
    .where('code_key', '=', key)
    .executeTakeFirst();
  return found !== undefined;
}

/** Decisions are never changed. Those that are not here yet are added, unless what they are about is kept as it is. @returns how many */
async function storeApprovals(
  staged: Sqlite.Database,
  tx: Kysely<Tables>,
  write: Writer,
  decided: readonly DecidedEntry[],
): Promise<number> {
  const kept = new Set(
    decided
      .filter(({ kind, outcome }) => outcome === 'keep' && (kind === 'product' || kind === 'finish'))
      .map(({ kind, code }) => `${kind} ${foldCode(code)}`),
  );
  const subjects = staged.prepare('SELECT DISTINCT subject FROM approvals').pluck().all() as string[];
  let added = 0;
  for (const subject of subjects) {
    const [about, variant] = subject.split('/');
    if (kept.has(`${variant === undefined ? 'finish' : 'product'} ${about}`)) continue;
    const stored = await tx
      .selectFrom('approvals')
      .select(['subject', 'data'])
      .where('subject', '=', subject)
      .execute();
    const known = new Set(stored.map((row) => textOf([row], ['data'])));
    for (const row of write.list('approvals', 'subject = ?', subject)) {
      if (known.has(textOf([row], ['data']))) continue;
      await write.insert('approvals', row);
      added++;
    }
  }
  return added;
}

async function recordImport(
  staged: Sqlite.Database,
  tx: Kysely<Tables>,
  write: Writer,
  decided: readonly DecidedEntry[],
  { at, person }: Change,
  source: ImportSource,
): Promise<void> {
  const entries = JSON.stringify(decided.filter(({ outcome }) => outcome !== 'none'));
  const made = await tx
    .insertInto('archive_imports')
    .values({ at, person, source: JSON.stringify(source), entries })
    .returning('import')
    .executeTakeFirstOrThrow();
  for (const row of staged.prepare('SELECT * FROM audit ORDER BY entry').all() as Row[]) {
    await write.insert('imported_audit', { import: made.import, ...row }, 'ON CONFLICT DO NOTHING');
  }
}
