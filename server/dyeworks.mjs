#!/usr/bin/env node
// The command, from its sources: teaches Node to read TypeScript, then hands over to the command line.
import { register } from 'tsx/esm/api';

register();
await import('./command-line-entry.ts');
