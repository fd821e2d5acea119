import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { Database } from '../../db/open-database.ts';

/** An operation on a file, as a fault may meet it. */
export interface FileOperation {
  readonly name: string;
  readonly path: string;
}

type Patched = Record<string, (...args: never[]) => unknown>;

/** Operations of `node:fs/promises` that change a disk. */
const OPERATIONS = ['open', 'writeFile', 'rename', 'mkdir', 'rm', 'unlink', 'utimes'];
/** Operations of an open file that do. */
const HANDLE_OPERATIONS = ['write', 'writeFile', 'sync', 'datasync'];

/**
 * Makes operations on files of this process fail as a disk would.
 * @param matches the operations that fail; an `open` for reading alone is never asked about
 * @returns ends the faults
 */
export async function failFiles(code: string, matches: (operation: FileOperation) => boolean): Promise<() => void> {
  const undo: (() => void)[] = [];
  const paths = new WeakMap<object, string>();
  const promises = fs.promises as unknown as Patched;
  const fail = (name: string, path: string) => {
    const message = `${code}: an injected fault, ${name} '${path}'`;
    return Promise.reject(Object.assign(new Error(message), { code, syscall: name, path }));
  };
  const patch = (target: Patched, name: string, make: (original: Patched[string]) => Patched[string]) => {
    const original = target[name]!;
    target[name] = make(original);
    undo.push(() => {
      target[name] = original;
    });
  };
  for (const name of OPERATIONS) {
    patch(
      promises,
      name,
      (original) =>
        async function (this: unknown, ...args: unknown[]) {
          const path = String(args[0]);
          const reads = name === 'open' && (args[1] === undefined || args[1] === 'r');
          if (!reads && matches({ name, path })) return fail(name, path);
          const result = await original.apply(this, args as never[]);
          if (name === 'open') paths.set(result as object, path);
          return result;
        } as Patched[string],
    );
  }
  const probe = await fs.promises.open(process.execPath, 'r');
  const handles = Object.getPrototypeOf(probe) as Patched;
  await probe.close();
  for (const name of HANDLE_OPERATIONS) {
    patch(
      handles,
      name,
      (original) =>
        function (this: object, ...args: unknown[]) {
          const path = paths.get(this);
          if (path !== undefined && matches({ name, path })) return fail(name, path);
          return original.apply(this, args as never[]);
        } as Patched[string],
    );
  }
  syncBuiltinESMExports();
  return () => {
    for (const each of undo.reverse()) each();
    syncBuiltinESMExports();
  };
}

/**
 * Makes statements of every SQLite connection of this process fail.
 * @param matches the SQL of statements that fail
 * @returns ends the faults
 */
export function failStatements(code: string, matches: RegExp): () => void {
  const database = new Database(':memory:');
  const statements = Object.getPrototypeOf(database.prepare('SELECT 1')) as Patched;
  database.close();
  const originals = { run: statements.run!, all: statements.all! };
  for (const name of ['run', 'all'] as const) {
    statements[name] = function (this: { readonly source: string }, ...args: never[]) {
      if (matches.test(this.source)) throw Object.assign(new Error(`${code}: an injected fault`), { code });
      return originals[name].apply(this, args);
    };
  }
  return () => Object.assign(statements, originals);
}
