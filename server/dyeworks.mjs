#!/usr/bin/env node
// The command: teaches Node to read the TypeScript sources, then hands over to the command line.
import { register } from 'tsx/esm/api';

register();
const { runCommandLine } = await import('./command-line.ts');
await runCommandLine(process.argv.slice(2), process.env);
