import { Kysely } from 'kysely';
import type { ArchiveImport, Archives, ImportSource, OpenedZip } from '../../server/core/ports/archives.ts';
import { Problem } from '../../server/core/problems.ts';
import { MODEL_PROBLEMS } from '../../server/core/texts/problems/model.ts';
import { listFileReferences } from '../check-data.ts';
import type { ContentFiles } from '../create-files.ts';
import type { DatabaseStores } from '../create-stores.ts';
import { listReferences } from '../list-references.ts';
import { MIGRATIONS } from '../migrations.ts';
import type { Tables } from '../tables.ts';
import { atomically, GuardedSqliteDialect } from '../transactions.ts';
import { collectLine } from './collect-line.ts';
import { compareRecords } from './compare-records.ts';
import { type RowCheck, stageRecords, wrongRecords } from './stage-records.ts';
import { storeRecords } from './store-records.ts';

interface ArchiveOptions {
  readonly db: Kysely<Tables>;
  readonly stores: DatabaseStores;
  readonly files: ContentFiles;
  /** The data folder. */
  readonly folder: string;
  readonly openZip: (path: string) => Promise<OpenedZip>;
  readonly checkRow: RowCheck;
  readonly version: string;
  readonly now: () => Date;
}

export function createArchives({
  db,
  stores,
  files,
  folder,
  openZip,
  checkRow,
  version,
  now,
}: ArchiveOptions): Archives {
  return {
    async collect(line) {
      // finishes of a long import may be on their way to their place
      await stores.getLine(line);
      await stores.getFinishHistory('');
      const { newTemporary, discard } = files;
      const collected = await collectLine({ folder, line, newTemporary, discard, version, now });
      // so that the sweep leaves them alone for a while
      for (const { sha256, packed } of collected.entries) if (!packed) await files.has(sha256);
      return collected;
    },

    open: openZip,

    schemas: Object.keys(MIGRATIONS),

    async stage(statement, tables) {
      const path = await files.newTemporary();
      try {
        const staged = await stageRecords(path, statement, tables, checkRow);
        const digests = await listDigests(staged, new Map(statement.files.map(({ sha256, bytes }) => [sha256, bytes])));
        return {
          line: statement.line,
          digests,
          compare: () => atomically(db, (tx) => compareRecords(staged, tx)),
          store: (decisions, change, source) =>
            stores.openTransaction((target) => storeRecords(staged, target, decisions, change, source)),
          async discard() {
            staged.close();
            await files.discard(path);
          },
        };
      } catch (error) {
        await files.discard(path);
        throw error;
      }
    },

    async listImports(): Promise<ArchiveImport[]> {
      const rows = await db.selectFrom('archive_imports').selectAll().orderBy('import', 'desc').execute();
      return rows.map(({ source, entries, ...row }) => ({
        ...row,
        source: JSON.parse(source) as ImportSource,
        entries: JSON.parse(entries) as ArchiveImport['entries'],
      }));
    },
  };
}

/** @throws Problem `archive-missing-file` for a file that the records need and the archive lacks */
async function listDigests(
  staged: ConstructorParameters<typeof GuardedSqliteDialect>[0],
  there: ReadonlyMap<string, number>,
) {
  const db = new Kysely<Tables>({ dialect: new GuardedSqliteDialect(staged) });
  const digests = new Set<string>();
  for (const { sha256 } of await listFileReferences(db)) {
    if (there.has(sha256)) continue;
    throw new Problem('archive-missing-file', {
      detail: MODEL_PROBLEMS['archive-missing-file'].entry(`files/${sha256.slice(0, 2)}/${sha256}`),
      where: `files/${sha256.slice(0, 2)}/${sha256}`,
    });
  }
  const sized = staged.prepare(SIZES).all() as {
    readonly table: string;
    readonly sha256: string;
    readonly bytes: number;
  }[];
  for (const { table, sha256, bytes } of sized) {
    if (there.has(sha256) && there.get(sha256) !== bytes) throw wrongRecords(table, 0);
  }
  for await (const { sha256 } of listReferences(db)) digests.add(sha256);
  return digests;
}

/** Rows that state the length of a file. */
const SIZES = /* sql */ `
  SELECT 'models' AS "table", sha256, bytes FROM models UNION ALL SELECT 'deliveries', sha256, bytes FROM deliveries
  UNION ALL SELECT 'images', sha256, bytes FROM images
  UNION ALL SELECT 'delivery_files', sha256, bytes FROM delivery_files WHERE stored = 1 AND sha256 IS NOT NULL`;
