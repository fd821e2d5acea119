// Loaded before a service (`node --import`), in its worker threads too. Writes a journal of what happens to its files, and
// ends the process at the step that FAULTS_KILL_AT names. Steps count from the signal SIGUSR2, in the main thread: each
// operation that changes a file, each statement that changes the database, and each commit, before and after.
import fs from 'node:fs';
import { createRequire, syncBuiltinESMExports } from 'node:module';
import { join } from 'node:path';
import { isMainThread } from 'node:worker_threads';

const killAt = Number(process.env.FAULTS_KILL_AT || Number.POSITIVE_INFINITY);
const journal = fs.openSync(process.env.FAULTS_JOURNAL, 'a');
const note = (...parts) => fs.writeSync(journal, `${parts.join('\t')}\n`);
let armed = false;
let steps = 0;

function step() {
  if (!armed) return;
  note('step');
  if (++steps === killAt) process.kill(process.pid, 'SIGKILL');
}

if (isMainThread) {
  process.on('SIGUSR2', () => {
    armed = true;
    note('armed');
  });
}

const paths = new WeakMap();
const { open, writeFile, rename, rm, unlink, mkdir } = fs.promises;
Object.assign(fs.promises, {
  async open(path, flags = 'r', ...rest) {
    if (flags !== 'r') step();
    const handle = await open.call(fs.promises, path, flags, ...rest);
    paths.set(handle, String(path));
    if (flags !== 'r') note('write', path);
    return handle;
  },
  async writeFile(path, ...rest) {
    if (paths.has(path)) return writeFile.call(fs.promises, path, ...rest);
    step();
    note('write', path);
    return writeFile.call(fs.promises, path, ...rest);
  },
  async rename(from, to) {
    step();
    await rename.call(fs.promises, from, to);
    note('rename', from, to);
  },
  async mkdir(path, ...rest) {
    step();
    return mkdir.call(fs.promises, path, ...rest);
  },
});
for (const [name, original] of Object.entries({ rm, unlink })) {
  fs.promises[name] = async (path, ...rest) => {
    step();
    return original.call(fs.promises, path, ...rest);
  };
}
syncBuiltinESMExports();

const probe = await open.call(fs.promises, process.execPath, 'r');
const handles = Object.getPrototypeOf(probe);
await probe.close();
for (const name of ['write', 'writeFile']) {
  const original = handles[name];
  handles[name] = function (...args) {
    step();
    if (paths.has(this)) note('write', paths.get(this));
    return original.apply(this, args);
  };
}
for (const name of ['sync', 'datasync']) {
  const original = handles[name];
  handles[name] = async function (...args) {
    step();
    const result = await original.apply(this, args);
    // a datasync amid writes proves nothing about those that follow it; only the last sync counts
    if (name === 'sync' && paths.has(this)) note('sync', paths.get(this));
    return result;
  };
}

const require = createRequire(join(process.cwd(), 'package.json'));
const Database = Number(process.versions.napi) >= 10 ? require('better-sqlite3-napi') : require('better-sqlite3');
const database = new Database(':memory:');
const statements = Object.getPrototypeOf(database.prepare('SELECT 1'));
database.close();
for (const name of ['run', 'all']) {
  const original = statements[name];
  statements[name] = function (...args) {
    const changes = /^\s*(begin|commit|insert|update|delete|replace)\b/i.test(this.source);
    if (changes) step();
    const result = original.apply(this, args);
    if (changes) step();
    return result;
  };
}
