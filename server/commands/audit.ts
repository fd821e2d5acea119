import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { createAccessStore } from '../../db/create-access-store.ts';
import { openDatabase } from '../../db/open-database.ts';
import { verifyAudit } from '../actions/audit.ts';
import { ConfigError, readConfig } from '../config.ts';
import { CALL_TEXTS, RESULT_TEXTS } from './texts.ts';

/** `dyeworks audit verify`: checks the chain of the audit, also while the service runs. @returns 1 where it is broken */
export async function auditCommand(
  args: readonly string[],
  env: Readonly<Record<string, string | undefined>>,
): Promise<number> {
  if (args.length !== 1 || args[0] !== 'verify') throw new ConfigError(CALL_TEXTS.wrongAuditCommand);
  const { dataFolder } = readConfig(env);
  const path = join(dataFolder, 'dyeworks.sqlite');
  if (!existsSync(path)) throw new ConfigError(CALL_TEXTS.noData(dataFolder));
  const db = await openDatabase(path);
  try {
    const { entries, digest, broken } = await verifyAudit({ store: createAccessStore(db) });
    console.log(broken === null ? RESULT_TEXTS.auditWhole(entries, digest) : RESULT_TEXTS.auditBroken(broken));
    return broken === null ? 0 : 1;
  } finally {
    await db.destroy();
  }
}
