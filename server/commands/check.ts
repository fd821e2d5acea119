import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { checkData, REMARKS } from '../../db/check-data.ts';
import { lockDataFolder } from '../../db/lock-data-folder.ts';
import { ConfigError, readConfig } from '../config.ts';
import { readArguments } from './arguments.ts';
import { CALL_TEXTS, CHECK_TEXTS } from './texts.ts';

const OPTIONS = {
  mend: { type: 'boolean' },
  json: { type: 'boolean' },
  'unused-days': { type: 'string' },
} as const;

const DAY_MS = 86_400_000;
/** Remarks of a kind that are printed; the rest is counted. */
const PRINTED = 20;
/** These take space, but nothing is wrong with them. */
const HARMLESS: ReadonlySet<string> = new Set(['unused-file', 'foreign-file']);

/** `dyeworks check`: checks the data folder, and mends it with `--mend`. 1 when something wrong is left. */
export async function checkCommand(
  args: readonly string[],
  env: Readonly<Record<string, string | undefined>>,
): Promise<number> {
  const { options } = readArguments(args, [], OPTIONS);
  const { dataFolder, unusedDays } = readConfig(env);
  const days = Number(options['unused-days'] ?? unusedDays);
  if (!Number.isFinite(days) || days < 0) throw new ConfigError(CALL_TEXTS.wrongDays(options['unused-days']));
  if (!existsSync(join(dataFolder, 'dyeworks.sqlite'))) throw new ConfigError(CALL_TEXTS.noData(dataFolder));
  const mend = options.mend === true;
  const lock = lockDataFolder(dataFolder);
  try {
    const checked = await checkData({ folder: dataFolder, mend, graceMs: days * DAY_MS });
    if (options.json === true) console.log(JSON.stringify(checked, null, 2));
    else {
      for (const code of REMARKS) {
        const found = checked.remarks.filter((remark) => remark.code === code);
        if (found.length === 0) continue;
        console.log(
          CHECK_TEXTS.heading(CHECK_TEXTS.remarks[code], found.length, found.filter((one) => one.mended).length),
        );
        for (const { subject, places } of found.slice(0, PRINTED)) console.log(CHECK_TEXTS.remark(subject, places));
        if (found.length > PRINTED) console.log(CHECK_TEXTS.more(found.length - PRINTED));
      }
    }
    const left = checked.remarks.filter(({ code, mended }) => !mended && !HARMLESS.has(code));
    if (options.json !== true) console.log(CHECK_TEXTS.result(dataFolder, checked, left.length, mend));
    return left.length > 0 ? 1 : 0;
  } finally {
    lock.release();
  }
}
