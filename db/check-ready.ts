import { randomUUID } from 'node:crypto';
import { rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Kysely } from 'kysely';
import type { Tables } from './tables.ts';

/** What keeps the store from working. */
export type StoreFault = 'database' | 'folder';

/**
 * Checks that the database answers, and that the data folder takes files. Calls that arrive together share one check.
 * @returns null when both work
 */
export function createReadyCheck(db: Kysely<Tables>, folder: string): () => Promise<StoreFault | null> {
  let running: Promise<StoreFault | null> | null = null;
  const check = async (): Promise<StoreFault | null> => {
    try {
      // a table, since an expression alone is answered even by a file that is not a database
      await db.selectFrom('products').select('code').limit(1).execute();
    } catch {
      return 'database';
    }
    // permissions alone do not tell of a full or read-only disk
    const probe = join(folder, `.ready-${randomUUID()}`);
    try {
      await writeFile(probe, 'ready');
    } catch {
      return 'folder';
    } finally {
      await rm(probe, { force: true }).catch(() => undefined);
    }
    return null;
  };
  return () => {
    running ??= check().finally(() => {
      running = null;
    });
    return running;
  };
}
