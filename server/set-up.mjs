// Sets up what is missing in a checkout: dependencies, the built parts, a browser. Plain script without dependencies; it is silent
// when nothing is missing. `node server/set-up.mjs serve|test|build|pack`: `build` always builds, `pack` only installs.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, lstatSync, mkdirSync, readFileSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { BUILT_PARTS, findNewest } from './built-parts.mjs';
import { findBrowser, getDownloadFolder } from './find-browser.mjs';

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const purpose = process.argv[2] ?? 'serve';

checkNode();
installDependencies();
if (purpose !== 'pack') build();
if (purpose === 'serve' || purpose === 'test') provideBrowser();

function checkNode() {
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major > 20 || (major === 20 && minor >= 19)) return;
  fail(`Dyeworks needs Node 20.19 or newer; this is ${process.versions.node}.`);
}

/** Dependencies are there when they were installed from this very lockfile, for this Node and this machine. */
function installDependencies() {
  const stamp = join(root, 'node_modules', '.dyeworks-installed');
  const lock = createHash('sha256')
    .update(readFileSync(join(root, 'package-lock.json')))
    .digest('hex');
  const wanted = `${lock} node-${process.versions.modules} ${process.platform}-${process.arch}`;
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === wanted) return;
  // npm ci would empty the folder the link points to, which other checkouts may use
  if (lstatSync(join(root, 'node_modules'), { throwIfNoEntry: false })?.isSymbolicLink()) {
    fail('node_modules is a link to a folder that was not installed from this lockfile. Remove the link first.');
  }
  say('Installing dependencies …');
  // a checkout builds its own pages, so that it needs the tools of development even in production
  run(
    npm(),
    ['ci', '--no-audit', '--no-fund', '--loglevel=error', '--include=dev'],
    'npm ci failed. Its messages above say why.',
    // what has to be compiled takes all cores
    { JOBS: process.env.JOBS ?? 'max' },
  );
  writeFileSync(stamp, wanted);
}

/** All parts are built again when a source is newer than the build. */
function build() {
  const stamp = join(root, '.build', 'built');
  const sources = ['web', 'renderer', 'server', 'db', 'package-lock.json'].map((path) => join(root, path));
  const built = existsSync(stamp) ? statSync(stamp).mtimeMs : 0;
  if (purpose !== 'build' && built > 0 && findNewest(sources) <= built) return;
  say('Building …');
  const started = new Date();
  const vite = join(root, 'node_modules', 'vite', 'bin', 'vite.js');
  for (const config of Object.values(BUILT_PARTS)) {
    run(process.execPath, [vite, 'build', '--config', config, '--logLevel', 'warn'], `Building with ${config} failed.`);
  }
  mkdirSync(dirname(stamp), { recursive: true });
  writeFileSync(stamp, started.toISOString());
  // what changes while the build runs is newer than it
  utimesSync(stamp, started, started);
}

/** Pictures need a browser; the service itself runs without one, so serving only warns. */
function provideBrowser() {
  const asked = process.env.DYEWORKS_BROWSER;
  if (asked && !existsSync(asked)) fail(`DYEWORKS_BROWSER is ${asked}, but that file does not exist.`);
  if (findBrowser(asked)) return;
  if (downloadBrowser() && findBrowser(null)) return;
  if (installDebianPackage() && findBrowser(null)) return;
  const ways = `Dyeworks found no Chromium-family browser, which it needs for pictures. Do one of these:
  - Install Chromium, Chrome or Edge with your system's packages (Debian: apt-get install chromium libgl1-mesa-dri libegl1).
  - Set DYEWORKS_BROWSER to the path of a browser.
  - Download one: npx @puppeteer/browsers install chrome --path ~/.cache/puppeteer`;
  if (purpose === 'test') fail(ways);
  console.error(ways);
}

function downloadBrowser() {
  say('No browser found. Downloading one …');
  const cli = join(root, 'node_modules', '@puppeteer', 'browsers', 'lib', 'cjs', 'main-cli.js');
  if (!existsSync(cli)) return false;
  return (
    spawnSync(process.execPath, [cli, 'install', 'chrome', '--path', getDownloadFolder()], {
      cwd: root,
      stdio: 'ignore',
      timeout: 300_000,
    }).status === 0
  );
}

function installDebianPackage() {
  if (!existsSync('/etc/debian_version') || process.getuid?.() !== 0) return false;
  say('Installing the chromium package with Mesa’s GL …');
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const apt = (...args) =>
    spawnSync('apt-get', ['-qq', ...args], { env, stdio: ['ignore', 'ignore', 'inherit'] }).status === 0;
  return apt('update') && apt('install', '-y', '--no-install-recommends', 'chromium', 'libgl1-mesa-dri', 'libegl1');
}

function npm() {
  return process.platform === 'win32' ? 'npm.cmd' : 'npm';
}

function run(command, args, message, env = {}) {
  const { status, error } = spawnSync(command, args, {
    cwd: root,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'inherit', 'inherit'],
    shell: process.platform === 'win32',
  });
  if (status !== 0) fail(error ? `${message} ${error.message}` : message);
}

function say(text) {
  console.log(text);
}

function fail(text) {
  console.error(text);
  process.exit(1);
}
