#!/usr/bin/env node
// The command `dyeworks`. In a package this file is the entry; in a checkout dyeworks.mjs loads it.
import { CALL_TEXTS, RESULT_TEXTS, USAGE } from './commands/texts.ts';
import { STOP_SIGNALS } from './commands/watch.ts';
import type { Surroundings } from './commands/workshop.ts';
import { ConfigError, readConfig } from './config.ts';

type Env = Surroundings['env'];

/** Each command loads what it needs when it runs, and returns the exit status: 0 done, 1 findings block. */
const COMMANDS: Readonly<Record<string, (args: readonly string[], env: Env) => Promise<number>>> = {
  serve: (_, env) => serveCommand(env),
  survey: async (args) => (await import('./commands/survey.ts')).surveyCommand(args),
  repair: async (args) => (await import('./commands/repair.ts')).repairCommand(args),
  deliver: async (args, env) => (await import('./commands/deliver.ts')).deliverCommand(args, surround(args, env)),
  feed: async (args, env) => (await import('./commands/deliver.ts')).feedCommand(args, surround(args, env)),
  pictures: async (args, env) => (await import('./commands/pictures.ts')).picturesCommand(args, surround(args, env)),
  catalogue: async (args, env) => (await import('./commands/pictures.ts')).catalogueCommand(args, surround(args, env)),
  import: async (args) => (await import('./commands/import.ts')).importCommand(args),
  audit: async (args, env) => (await import('./commands/audit.ts')).auditCommand(args, env),
  user: async (args, env) => (await import('./commands/user.ts')).userCommand(args, env),
  swatches: async (args, env) => (await import('./commands/pictures.ts')).swatchesCommand(args, surround(args, env)),
  export: async (args, env) => (await import('./commands/export.ts')).exportCommand(args, env),
  backup: async (args, env) => (await import('./commands/backup.ts')).backupCommand(args, env),
  restore: async (args) => (await import('./commands/backup.ts')).restoreCommand(args),
  check: async (args, env) => (await import('./commands/check.ts')).checkCommand(args, env),
};

/** What long commands have of their surroundings: a signal ends a watch. */
function surround(args: readonly string[], env: Env): Surroundings {
  const stop = new AbortController();
  if (args.includes('--watch')) for (const signal of STOP_SIGNALS) process.once(signal, () => stop.abort());
  return { env, signal: stop.signal, report: async (error) => console.error(await describeFailure(error)) };
}

/**
 * Closing takes up to four seconds by its own limits. Should it hang, the process ends after this time all the same: what it
 * has confirmed is stored.
 */
const CLOSE_TIMEOUT_MS = 4_700;

/** `dyeworks serve`: serves until a signal ends it. The exit status is then 0. */
async function serveCommand(env: Readonly<Record<string, string | undefined>>): Promise<number> {
  const config = readConfig(env);
  // the service loads after the settings are checked, so that a wrong setting fails at once
  const { createService } = await import('./main.ts');
  const service = await createService(config).catch(async (error: unknown) => {
    const { explainFailedStart } = await import('./core/storage-faults.ts');
    throw explainFailedStart(error, config.dataFolder) ?? error;
  });
  let closing = false;
  const stop = () => {
    if (closing) return;
    closing = true;
    setTimeout(() => {
      console.error(RESULT_TEXTS.notClosed);
      process.exit(0);
    }, CLOSE_TIMEOUT_MS).unref();
    service.close().then(
      () => process.exit(0),
      (error: unknown) => {
        console.error(error);
        process.exit(0);
      },
    );
  };
  for (const signal of STOP_SIGNALS) process.on(signal, stop);
  try {
    console.log(RESULT_TEXTS.serving(await service.listen()));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EADDRINUSE') throw error;
    console.error(CALL_TEXTS.portInUse(config.port));
    process.exit(2);
  }
  return 0;
}

process.exitCode = await runCommandLine(process.argv.slice(2), process.env);

/** @returns the exit status; 2 for a wrong call, or a command that failed */
async function runCommandLine([name, ...args]: readonly string[], env: Env): Promise<number> {
  if (name === '--help') {
    console.log(USAGE);
    return 0;
  }
  const command = name !== undefined && Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
  if (!command) {
    console.error(name === undefined ? USAGE : CALL_TEXTS.unknownCommand(name));
    return 2;
  }
  try {
    return await command(args, env);
  } catch (error) {
    console.error(await describeFailure(error));
    return 2;
  }
}

/** A message if the caller can correct the cause. For a fault of the program, the error with its stack. */
async function describeFailure(error: unknown): Promise<unknown> {
  if (error instanceof ConfigError) return error.message;
  const { Problem } = await import('./core/problems.ts');
  if (error instanceof Problem) return `${error.code}: ${error.message}`;
  return typeof (error as NodeJS.ErrnoException).syscall === 'string' ? (error as Error).message : error;
}
