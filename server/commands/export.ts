import { createWriteStream, existsSync } from 'node:fs';
import { mkdtemp, open, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { collectLine } from '../../db/archive/collect-line.ts';
import { openDatabase } from '../../db/open-database.ts';
import { ConfigError, readConfig } from '../config.ts';
import { writeArchive } from '../http/write-archive.ts';
import { readVersion } from '../root.ts';
import { readArguments } from './arguments.ts';
import { printJson } from './output.ts';
import { replaceFile } from './replace-file.ts';
import { CALL_TEXTS, INPUTS, RESULT_TEXTS } from './texts.ts';

const OPTIONS = { output: { type: 'string', short: 'o', required: true }, json: { type: 'boolean' } } as const;

/**
 * `dyeworks export`: writes a whole line as one archive. It reads the data folder and asks no service: SQLite shows it one moment
 * while a service writes, content files never change, and so it needs neither address nor token.
 */
export async function exportCommand(
  args: readonly string[],
  env: Readonly<Record<string, string | undefined>>,
): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.line], OPTIONS);
  const { dataFolder: folder } = readConfig(env);
  const database = join(folder, 'dyeworks.sqlite');
  if (!existsSync(database)) throw new ConfigError(CALL_TEXTS.noData(folder));
  // brings the folder of an older version up to date, as its service would
  await (await openDatabase(database)).destroy();
  const target = String(options.output);
  const temporary = await mkdtemp(join(tmpdir(), 'dyeworks-export-'));
  try {
    let next = 0;
    const collected = await collectLine({
      folder,
      line: files[0]!,
      newTemporary: async () => join(temporary, String(next++)),
      discard: (path) => rm(path, { force: true }),
      version: readVersion(),
      now: () => new Date(),
    });
    await replaceFile(target, async (part) => {
      await pipeline(writeArchive(collected), createWriteStream(part));
      const file = await open(part, 'r+');
      await file.sync().finally(() => file.close());
    });
    const { size } = await stat(target);
    const result = { line: collected.line, files: collected.entries.length, bytes: size };
    if (options.json === true) printJson(result);
    else console.log(RESULT_TEXTS.exported(target, result.line, result.files, result.bytes));
    return 0;
  } finally {
    await rm(temporary, { recursive: true, force: true });
  }
}
