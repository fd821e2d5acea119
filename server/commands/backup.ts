import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { backUp, restoreBackup } from '../../db/back-up.ts';
import { ConfigError, readConfig } from '../config.ts';
import { readVersion } from '../root.ts';
import { readArguments } from './arguments.ts';
import { printJson } from './output.ts';
import { CALL_TEXTS, INPUTS, RESULT_TEXTS } from './texts.ts';

const BACKUP_OPTIONS = {
  output: { type: 'string', short: 'o', required: true },
  link: { type: 'boolean' },
  json: { type: 'boolean' },
} as const;

const RESTORE_OPTIONS = { data: { type: 'string', required: true }, json: { type: 'boolean' } } as const;

/** `dyeworks backup`: copies the data folder as it is at one moment, also while a service uses it. */
export async function backupCommand(
  args: readonly string[],
  env: Readonly<Record<string, string | undefined>>,
): Promise<number> {
  const { options } = readArguments(args, [], BACKUP_OPTIONS);
  const { dataFolder: folder } = readConfig(env);
  if (!existsSync(join(folder, 'dyeworks.sqlite'))) throw new ConfigError(CALL_TEXTS.noData(folder));
  const target = String(options.output);
  const link = options.link === true;
  const made = await backUp({ folder, target, link, version: readVersion(), now: () => new Date() });
  if (options.json === true) printJson(made);
  else console.log(RESULT_TEXTS.backedUp(target, made));
  return 0;
}

/** `dyeworks restore`: makes a new data folder from a backup. */
export async function restoreCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.backup], RESTORE_OPTIONS);
  const folder = String(options.data);
  const restored = await restoreBackup(files[0]!, folder);
  if (options.json === true) printJson(restored);
  else console.log(RESULT_TEXTS.restored(folder, restored));
  return 0;
}
