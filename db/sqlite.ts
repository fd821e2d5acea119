import { createRequire } from 'node:module';
import type Sqlite from 'better-sqlite3';

const require = createRequire(import.meta.url);

/**
 * The class `Database` of better-sqlite3, in the version that fits this Node. Version 12 ends the process on Node 24 when a
 * statement is collected as garbage; version 13 crashes on Node 20, which lacks version 10 of Node-API. Version 13 brings
 * its binaries along. Version 12 downloads or compiles one, so that it is an optional dependency.
 */
export const Database: typeof Sqlite =
  Number(process.versions.napi) >= 10 ? require('better-sqlite3-napi') : require('better-sqlite3');
