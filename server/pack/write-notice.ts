import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { packageOf, type UsedPackages } from './build-parts.ts';
import { CARRIED_PARTS, CARRYING_FOLDER, isAllowed } from './licences.ts';

/** One package of a lockfile, with the fields that are read here. */
export interface LockedPackage {
  /** Name in the registry, where the folder has another. */
  readonly name?: string;
  readonly version: string;
  readonly license?: string;
  readonly dev?: boolean;
  readonly optional?: boolean;
  readonly dependencies?: Readonly<Record<string, string>>;
  readonly optionalDependencies?: Readonly<Record<string, string>>;
  readonly peerDependencies?: Readonly<Record<string, string>>;
  readonly peerDependenciesMeta?: Readonly<Record<string, { readonly optional?: boolean }>>;
}

/** A lockfile of npm, version 3: packages by their path, such as `node_modules/a/node_modules/b`. */
export interface Lockfile {
  readonly packages: Readonly<Record<string, LockedPackage>>;
}

interface Shipped {
  /** Path below the project, such as `node_modules/a/node_modules/b`. */
  readonly path: string;
  readonly name: string;
  readonly version: string;
  readonly licence: string;
}

const LICENCE_FILE = /^(licen[cs]e|copying|notices?|third.?party|3rd.?party)/i;

/**
 * Writes the notice of everything that is shipped: what is compiled or copied into the built parts, what npm installs beside
 * them, and the text of every licence. It reads the installed packages; those for other systems are in the lockfile only.
 * @param parts folders of the package that the code is in; one for a package that is one folder
 * @throws Error when a licence is not on the list of those that may be shipped
 */
export function writeNotice(
  root: string,
  project: { readonly version: string; readonly license: string },
  lock: Lockfile,
  used: Pick<UsedPackages, 'bundledFiles' | 'loaded'>,
  parts: readonly string[] = ['server', 'studio', 'web', 'viewer'],
): string {
  const bundled = readShipped(root, lock, [...new Set(used.bundledFiles.map(folderOf))]);
  const installed = readShipped(root, lock, listNeeded(lock, used.loaded));
  const carried = listCarried(used.bundledFiles);
  const refused = [
    ...[...bundled, ...installed].map(({ name, licence }) => ({ name, licence, owner: name })),
    ...carried.map(({ name, licence }) => ({ name, licence, owner: 'three' })),
  ].filter(({ owner, licence }) => !isAllowed(owner, licence));
  if (refused.length > 0) {
    const list = refused.map(({ name, licence }) => `${name} (${licence || 'no licence stated'})`).join(', ');
    throw new Error(`These licences are not on the list in server/pack/licences.ts: ${list}.`);
  }
  return [
    '# Notice',
    '',
    `Dyeworks ${project.version} is under the ${project.license} licence; see LICENSE. It uses the work of others, listed here.`,
    'This file is generated: `npm run notice` in a checkout.',
    '',
    '## In this package',
    '',
    parts.length > 1
      ? `The code or the files of these packages are compiled or copied into the folders ${parts.map((part) => `\`${part}\``).join(', ')}.`
      : 'The code or the files of these packages are compiled or copied into its scripts.',
    '',
    ...writeTable(bundled),
    '',
    'Some of them carry parts of other projects:',
    '',
    '| part | licence | holder | source |',
    '|---|---|---|---|',
    ...carried.map(({ name, licence, holder, address }) => `| ${name} | ${licence} | ${holder} | ${address} |`),
    '',
    ...(installed.length > 0 ? writeInstalled(root, installed) : []),
    '## Texts of the licences',
    '',
    ...writeTexts(root, [...bundled, ...installed], carried.length > 0),
  ].join('\n');
}

function writeInstalled(root: string, installed: readonly Shipped[]): string[] {
  return [
    '## Installed beside it',
    '',
    'npm installs these packages from its registry, unchanged. Those for other systems are left out at installation.',
    '',
    ...writeTable(installed),
    '',
    ...writeLibvips(root, installed),
  ];
}

/** `node_modules/a/node_modules/b` of a file below `node_modules`. */
function folderOf(file: string): string {
  const parts = file.split('/node_modules/');
  return ['', ...parts.slice(0, -1), packageOf(parts.at(-1)!)].join('/node_modules/').slice(1);
}

function readShipped(root: string, { packages }: Lockfile, paths: readonly string[]): Shipped[] {
  return paths
    .map((path) => {
      const file = join(root, path, 'package.json');
      const found = existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : packages[path];
      const name = path.slice(path.lastIndexOf('node_modules/') + 'node_modules/'.length);
      return { path, name, version: found.version, licence: found.license?.type ?? found.license ?? '' };
    })
    .sort((a, b) => a.name.localeCompare(b.name, 'en') || a.version.localeCompare(b.version, 'en'));
}

/** @throws Error when a copied part is not in the list, so that its licence is not known */
function listCarried(files: readonly string[]) {
  const copied = files.filter((file) => file.startsWith(CARRYING_FOLDER));
  const unknown = copied.filter((file) => !CARRIED_PARTS.some(({ path }) => file.startsWith(path)));
  if (unknown.length > 0) throw new Error(`CARRIED_PARTS does not list ${unknown.join(', ')}.`);
  return CARRIED_PARTS.filter(({ path }) => copied.some((file) => file.startsWith(path)));
}

function writeTable(shipped: readonly Shipped[]): string[] {
  return [
    '| package | version | licence |',
    '|---|---|---|',
    ...shipped.map(({ name, version, licence }) => `| ${name} | ${version} | ${licence} |`),
  ];
}

/** The parts under the LGPL: where they are, and how a user can replace them. */
function writeLibvips(root: string, installed: readonly Shipped[]): string[] {
  const libraries = installed.filter(({ name }) => name.startsWith('@img/sharp-libvips'));
  const readme = libraries.map(({ path }) => join(root, path, 'README.md')).find(existsSync);
  const table = readme === undefined ? [] : readFileSync(readme, 'utf8').match(/^\|.*\|$/gm);
  return [
    '## Libraries under the LGPL',
    '',
    'sharp uses libvips, which comes with further libraries under the GNU Lesser General Public License, version 3 or later',
    '(https://www.gnu.org/licenses/lgpl-3.0.html). On Linux and macOS they are one shared library in the package',
    '`@img/sharp-libvips-…`; on Windows they are DLL files in `@img/sharp-win32-…`. You may replace that file with one of your own:',
    'sharp also works with a libvips of the system (https://sharp.pixelplumbing.com/install). The sources, and the scripts that',
    'build the library, are at https://github.com/lovell/sharp-libvips and https://github.com/libvips/libvips.',
    '',
    ...(table ?? []),
    '',
  ];
}

/** Every text once, under the names of the packages that have it. */
function writeTexts(root: string, shipped: readonly Shipped[], carried: boolean): string[] {
  const owners = new Map<string, string[]>();
  const silent: Shipped[] = [];
  const add = (text: string, owner: string) => {
    const list = owners.get(text) ?? [];
    if (!list.includes(owner)) owners.set(text, [...list, owner]);
  };
  for (const each of shipped) {
    const folder = join(root, each.path);
    const files = existsSync(folder) ? readdirSync(folder).filter((name) => LICENCE_FILE.test(name)) : [];
    for (const file of files) add(readFileSync(join(folder, file), 'utf8').replace(/\r/g, '').trim(), each.name);
    if (files.length === 0 && existsSync(folder)) silent.push(each);
  }
  // packages and parts that state a licence without its text get the text of the same licence
  for (const { licence, owner } of [
    ...silent.map(({ licence, name }) => ({ licence, owner: name })),
    ...(carried ? CARRIED_PARTS.map(({ licence, name }) => ({ licence, owner: name })) : []),
  ]) {
    if (!licence.includes('Apache-2.0')) continue;
    const text = [...owners.keys()].find((each) => /^\s*Apache License\s+Version 2\.0, January 2004/.test(each));
    if (text !== undefined) add(text, owner);
  }
  const named = new Set([...owners.values()].flat());
  const left = [...new Set(silent.filter(({ name }) => !named.has(name)).map(({ name }) => name))];
  return [
    ...(left.length === 0 ? [] : [`These packages state their licence in the table only: ${left.join(', ')}.`, '']),
    ...[...owners].flatMap(([text, names]) => [`### ${names.join(', ')}`, '', '````', text, '````', '']),
  ];
}

/**
 * The paths of all packages that the named packages need at run time, with the named ones and those for other systems. Pure.
 * @throws Error when one is missing from the lockfile
 */
export function listNeeded({ packages }: Lockfile, names: readonly string[]): string[] {
  const needed = new Set<string>();
  const open = names.map((name) => findPackage(packages, '', name) ?? missing(name));
  for (let path = open.pop(); path !== undefined; path = open.pop()) {
    if (needed.has(path)) continue;
    needed.add(path);
    const { dependencies, optionalDependencies, peerDependencies, peerDependenciesMeta } = packages[path]!;
    for (const name of Object.keys({ ...dependencies, ...optionalDependencies, ...peerDependencies })) {
      const found = findPackage(packages, path, name);
      if (found !== null) open.push(found);
      else if (name in (optionalDependencies ?? {}) || peerDependenciesMeta?.[name]?.optional) continue;
      else missing(name);
    }
  }
  return [...needed].sort();
}

/** Searches as Node does: in the package's own `node_modules`, then in those above. */
function findPackage(packages: Lockfile['packages'], from: string, name: string): string | null {
  for (let folder = from; ; folder = folder.slice(0, Math.max(0, folder.lastIndexOf('/node_modules/')))) {
    const path = `${folder === '' ? '' : `${folder}/`}node_modules/${name}`;
    if (path in packages) return path;
    if (folder === '') return null;
  }
}

function missing(name: string): never {
  throw new Error(`${name} is missing from package-lock.json. Run npm install.`);
}
