#!/usr/bin/env node
// The command in a checkout, from its sources: teaches Node to read TypeScript first. Packages have the bundle instead.
import { register } from 'tsx/esm/api';

register();
await import('./command-line.ts');
