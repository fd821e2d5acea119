/** One package of a lockfile; only the fields that are used here. */
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

/**
 * The paths of all packages that some packages need at run time, themselves included; those for other systems too. Pure.
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

/** As Node looks for it: in the package's own `node_modules`, then in those above. */
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
