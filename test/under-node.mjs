// Runs tests under another Node: `npm run test:node 22`, or with files: `npm run test:node 24 test/db`. Plain script.
// The npm package `node` carries the binary. The sources are copied to a temporary folder, where the ordinary set-up
// installs the dependencies for that Node, so that the checkout's own node_modules stay as they are.
import { execFileSync, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const VITEST = 'node_modules/vitest/vitest.mjs';
const USUAL = ['test/server', 'test/db', 'test/web', 'test/renderer', 'test/journey/whole-job.test.ts'];

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const [major, ...given] = process.argv.slice(2);
if (!/^\d+$/.test(major ?? '')) {
  console.error('Name a version of Node, such as: npm run test:node 22');
  process.exit(2);
}
const folder = join(tmpdir(), `dyeworks-node-${major}`);
const copy = join(folder, 'checkout');

const nodeFolder = installNode();
copySources();
process.exitCode = runTests();

/** @returns the folder that holds bin/node, and include/node where the package carries the headers */
function installNode() {
  mkdirSync(folder, { recursive: true });
  const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
  execFileSync(npm, ['install', '--prefix', folder, '--no-save', '--loglevel=error', `node@${major}`], {
    stdio: 'inherit',
    shell: process.platform === 'win32',
  });
  const name = `node-${process.platform === 'win32' ? 'win' : process.platform}-${process.arch}`;
  const places = [join('node', 'node_modules', name), name].map((path) => join(folder, 'node_modules', path));
  return places.find(existsSync) ?? join(folder, 'node_modules', 'node');
}

/** What git knows or would add. Folders with what is installed and built stay from one run to the next. */
function copySources() {
  const list = (...args) =>
    execFileSync('git', ['ls-files', '-z', ...args], { cwd: root, encoding: 'utf8' }).split('\0');
  const gone = new Set(list('--deleted'));
  for (const room of ['server', 'db', 'renderer', 'web', 'test'])
    rmSync(join(copy, room), { recursive: true, force: true });
  for (const path of list('--cached', '--others', '--exclude-standard')) {
    if (path !== '' && !gone.has(path)) cpSync(join(root, path), join(copy, path), { recursive: true });
  }
}

function runTests() {
  const env = { ...process.env, PATH: [join(nodeFolder, 'bin'), process.env.PATH].join(delimiter) };
  // a dependency that is compiled must find the headers of this Node, not the system's
  if (existsSync(join(nodeFolder, 'include', 'node'))) env.npm_config_nodedir = nodeFolder;
  const node = join(nodeFolder, 'bin', process.platform === 'win32' ? 'node.exe' : 'node');
  for (const args of [
    ['--version'],
    ['server/set-up.mjs', 'test'],
    [VITEST, 'run', '--config', 'test/vitest.config.ts', ...(given.length > 0 ? given : USUAL)],
  ]) {
    const { status } = spawnSync(node, args, { cwd: copy, env, stdio: 'inherit' });
    if (status !== 0) return status ?? 1;
  }
  return 0;
}
