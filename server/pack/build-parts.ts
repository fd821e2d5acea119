import { join } from 'node:path';
import { build, type Plugin } from 'vite';
import { BUILT_PARTS } from '../built-parts.mjs';

/** The packages that the built parts use. */
export interface UsedPackages {
  /** Files that are copied or compiled into the parts: paths below `node_modules`, sorted. */
  readonly bundledFiles: readonly string[];
  /** Of them, those of one part. */
  readonly filesByPart: Readonly<Record<string, readonly string[]>>;
  /** Packages that the service loads when it runs, sorted. */
  readonly loaded: readonly string[];
}

/**
 * Builds every part.
 * @param target folder that gets one folder for each part; null writes nothing and only reports what would be bundled
 * @param dependencies names in the project's `dependencies`
 * @throws Error when the service loads a package that is not among them
 */
export async function buildParts(
  root: string,
  target: string | null,
  dependencies: ReadonlySet<string>,
): Promise<UsedPackages> {
  const filesByPart: Record<string, string[]> = {};
  const loaded = new Set<string>();
  for (const [part, config] of Object.entries(BUILT_PARTS)) {
    const files = new Set<string>();
    await build({
      configFile: join(root, config),
      logLevel: 'warn',
      plugins: [collect(files, loaded, dependencies)],
      build: target === null ? { write: false } : { outDir: join(target, part), emptyOutDir: true },
    });
    filesByPart[part] = [...files].sort();
  }
  const bundledFiles = [...new Set(Object.values(filesByPart).flat())].sort();
  return { bundledFiles, filesByPart, loaded: [...loaded].sort() };
}

/**
 * Names of packages in calls that the bundler leaves as they are, in our own code and in that of bundled packages. The
 * bundler may rename `require` to `require$1`.
 */
const OWN_CALLS = /\b(?:require|resolve)(?:\$\d+)?\(\s*["'`]([@\w][^"'`$]*)/g;
const THEIR_CALLS = /\b__require\(\s*["']([@\w][^"']*)/g;

function collect(bundledFiles: Set<string>, loaded: Set<string>, dependencies: ReadonlySet<string>): Plugin {
  const addFile = (path: string) => {
    const at = path.lastIndexOf('node_modules/');
    if (at >= 0) bundledFiles.add(path.slice(path.indexOf('node_modules/') + 'node_modules/'.length).split('?')[0]!);
  };
  return {
    name: 'collect-packages',
    generateBundle(_, bundle) {
      for (const output of Object.values(bundle)) {
        if (output.type === 'asset') {
          output.originalFileNames.forEach(addFile);
          continue;
        }
        Object.keys(output.modules).forEach(addFile);
        for (const name of [...output.imports, ...output.dynamicImports]) {
          if (name in bundle || name.startsWith('node:')) continue;
          if (!dependencies.has(packageOf(name))) throw new Error(`The bundle loads ${name}, which is no dependency.`);
          loaded.add(packageOf(name));
        }
        const own = Object.entries(output.modules).filter(([id]) => !id.includes('node_modules/'));
        const calls = [
          ...own.flatMap(([, { code }]) => [...(code ?? '').matchAll(OWN_CALLS)]),
          ...output.code.matchAll(THEIR_CALLS),
        ];
        // bundled packages try optional ones in this way too: only dependencies count
        for (const [, name] of calls) if (dependencies.has(packageOf(name!))) loaded.add(packageOf(name!));
      }
    },
  };
}

/** The package a path below `node_modules`, or a module's name, belongs to. */
export function packageOf(path: string): string {
  return path
    .split('/')
    .slice(0, path.startsWith('@') ? 2 : 1)
    .join('/');
}
