// `npm run pack` makes the package that runs with production dependencies alone, and that of the viewer. With `--notice-only` it writes only the
// notice, to `.build/NOTICE.md`.
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { BUILT_PARTS } from '../built-parts.mjs';
import { buildParts, packageOf } from './build-parts.ts';
import { fillViewerPackage } from './pack-viewer.ts';
import { type LockedPackage, type Lockfile, writeNotice } from './write-notice.ts';

const root = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const target = join(root, '.build');
const folder = join(target, 'package');
const noticeOnly = process.argv.includes('--notice-only');

const project = readJson('package.json');
const lock = readJson('package-lock.json') as Lockfile;

rmSync(folder, { recursive: true, force: true });
const declared = { ...project.dependencies, ...project.optionalDependencies };
const used = await buildParts(root, noticeOnly ? null : folder, new Set(Object.keys(declared)));
const found = new Set([...used.loaded, ...used.bundledFiles.map(packageOf)]);
const unused = Object.keys(declared).filter((name) => !found.has(name));
// if the bundler missed how one is loaded, the package would lack it
if (unused.length > 0) throw new Error(`The built parts use none of these dependencies: ${unused.join(', ')}.`);
const notice = writeNotice(root, project, lock, used);
mkdirSync(target, { recursive: true });
writeFileSync(join(target, 'NOTICE.md'), notice);
if (noticeOnly) console.log(join(target, 'NOTICE.md'));
else for (const tarball of [makeViewerTarball(), makeTarball()]) console.log(tarball);

/** The viewer is also a package of its own, for shops. */
function makeViewerTarball(): string {
  const own = join(target, 'viewer-package');
  rmSync(own, { recursive: true, force: true });
  const files = { bundledFiles: used.filesByPart.viewer!, loaded: [] };
  fillViewerPackage(root, join(folder, 'viewer'), own, project, writeNotice(root, project, lock, files, ['viewer']));
  return pack(own, `dyeworks-viewer-${project.version}.tgz`);
}

function makeTarball(): string {
  const { name, version, description, license, type, engines } = project;
  // only packages that the bundle loads, in the tested versions: the bundle contains the others
  const pin = (names: readonly string[]) =>
    Object.fromEntries(names.map((each) => [each, findVersion(lock.packages[`node_modules/${each}`]!)]));
  const dependencies = pin(used.loaded.filter((each) => each in project.dependencies));
  const optionalDependencies = pin(used.loaded.filter((each) => each in project.optionalDependencies));
  const bin = { dyeworks: 'server/dyeworks.mjs' };
  const files = [...Object.keys(BUILT_PARTS), 'NOTICE.md'];
  const head = { name, version, description, license, type, engines, bin, files };
  writeJson('package.json', { ...head, dependencies, optionalDependencies });
  for (const file of ['README.md', 'LICENSE']) copyFileSync(join(root, file), join(folder, file));
  copyFileSync(join(target, 'NOTICE.md'), join(folder, 'NOTICE.md'));
  return pack(folder, `${name}-${version}.tgz`);
}

function pack(own: string, tarball: string): string {
  const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
  execFileSync(npm, ['pack', own, '--pack-destination', target, '--loglevel=error'], {
    cwd: own,
    stdio: ['ignore', 'ignore', 'inherit'],
    shell: process.platform === 'win32',
  });
  return join(target, tarball);
}

/** A package with another name here than in the registry needs both names. */
function findVersion({ name, version }: LockedPackage): string {
  return name === undefined ? version : `npm:${name}@${version}`;
}

// biome-ignore lint/suspicious/noExplicitAny: two files of npm
function readJson(path: string): any {
  return JSON.parse(readFileSync(join(root, path), 'utf8'));
}

function writeJson(path: string, value: object): void {
  writeFileSync(join(folder, path), `${JSON.stringify(value, null, 2)}\n`);
}
