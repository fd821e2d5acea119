#!/usr/bin/env node
// The command `dyeworks`. In a package this file is the entry; in a checkout dyeworks.mjs loads it.
import { ConfigError, readConfig } from './config.ts';

const USAGE = `Usage:
  dyeworks serve                                   serve the pages and the API
  dyeworks survey model.glb [--json]               what a model contains, and whether it can take finishes
  dyeworks repair model.glb --proposals -o out.glb [--class dining-chair] [--size 460x520x820] [--mount floor]
                                                   make the repairs proposed for a model; --list prints them instead,
                                                   --repairs steps.json makes those of a list
  dyeworks deliver model.glb --finishes finishes.json --schedule schedule.csv -o out.glb
                                                   write one file that carries every variant
  dyeworks import measurements.txt -o finishes.json [--family paint] [--article CODE] [--illuminant D65]
                  [--observer 10deg] [--geometry di:8] [--partial] [--dry-run]
                                                   finishes out of CGATS.17, CxF3 or CSV; what the file does not say is
                                                   taken from the options, --partial leaves refused lines out
  dyeworks swatches finishes.json -o folder [--kind chip|sphere|panel|cutting] [--size 256] [--format png|webp|jpg]
                                                   a picture of every finish
Exit status: 0 done, 1 findings stand against it, 2 the call is wrong.`;

/** Runs one command of the command line; sets the exit status. */
async function runCommandLine(
  args: readonly string[],
  env: Readonly<Record<string, string | undefined>>,
): Promise<void> {
  const [command, ...rest] = args;
  try {
    switch (command) {
      case 'serve':
        return await serve(env);
      case 'survey':
        process.exitCode = await (await import('./commands/survey.ts')).surveyCommand(rest);
        return;
      case 'repair':
        process.exitCode = await (await import('./commands/repair.ts')).repairCommand(rest);
        return;
      case 'deliver':
        process.exitCode = await (await import('./commands/deliver.ts')).deliverCommand(rest);
        return;
      case 'import':
        process.exitCode = await (await import('./commands/import.ts')).importCommand(rest);
        return;
      case 'swatches':
        process.exitCode = await (await import('./commands/swatches.ts')).swatchesCommand(rest, env);
        return;
      default:
        console.error(
          command === undefined || command === '--help' ? USAGE : `There is no command “${command}”.\n${USAGE}`,
        );
        process.exitCode = command === '--help' ? 0 : 2;
    }
  } catch (error) {
    if (error instanceof ConfigError) {
      console.error(error.message);
      process.exitCode = 2;
      return;
    }
    const { Problem } = await import('./core/problems.ts');
    if (error instanceof Problem) console.error(`${error.code}: ${error.message}`);
    else if (typeof (error as NodeJS.ErrnoException).syscall === 'string') console.error((error as Error).message);
    else console.error(error);
    process.exitCode = 2;
  }
}

/** How long work in flight may take to finish once the service is told to stop. */
const CLOSE_TIMEOUT_MS = 15_000;

async function serve(env: Readonly<Record<string, string | undefined>>): Promise<void> {
  const config = readConfig(env);
  const { createService } = await import('./main.ts');
  const service = await createService(config);
  let closing = false;
  const stop = () => {
    if (closing) return;
    closing = true;
    setTimeout(() => process.exit(0), CLOSE_TIMEOUT_MS).unref();
    service.close().then(
      () => process.exit(0),
      (error: unknown) => {
        console.error(error);
        process.exit(0);
      },
    );
  };
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);
  try {
    console.log(`Dyeworks is at ${await service.listen()}`);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EADDRINUSE') throw error;
    console.error(`Port ${config.port} is taken. Stop what uses it, or set DYEWORKS_PORT to another.`);
    process.exit(2);
  }
}

await runCommandLine(process.argv.slice(2), process.env);
