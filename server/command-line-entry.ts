import { runCommandLine } from './command-line.ts';

await runCommandLine(process.argv.slice(2), process.env);
