#!/usr/bin/env node
// The command `dyeworks`. In a package this file is the entry; in a checkout dyeworks.mjs loads it.
import { CALL_TEXTS, USAGE } from './commands/texts.ts';
import { ConfigError } from './config.ts';

type Env = Readonly<Record<string, string | undefined>>;

/** Each command loads what it needs when it runs, and returns the exit status: 0 done, 1 findings block. */
const COMMANDS: Readonly<Record<string, (args: readonly string[], env: Env) => Promise<number>>> = {
  serve: async (_, env) => (await import('./commands/serve.ts')).serveCommand(env),
  survey: async (args) => (await import('./commands/survey.ts')).surveyCommand(args),
  repair: async (args) => (await import('./commands/repair.ts')).repairCommand(args),
  deliver: async (args) => (await import('./commands/deliver.ts')).deliverCommand(args),
  import: async (args) => (await import('./commands/import.ts')).importCommand(args),
  swatches: async (args, env) => (await import('./commands/swatches.ts')).swatchesCommand(args, env),
};

process.exitCode = await runCommandLine(process.argv.slice(2), process.env);

/** @returns the exit status; 2 for a wrong call, or one that failed */
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

/** A message for what a caller can change; the error itself, with its stack, for a fault of the program. */
async function describeFailure(error: unknown): Promise<unknown> {
  if (error instanceof ConfigError) return error.message;
  const { Problem } = await import('./core/problems.ts');
  if (error instanceof Problem) return `${error.code}: ${error.message}`;
  return typeof (error as NodeJS.ErrnoException).syscall === 'string' ? (error as Error).message : error;
}
