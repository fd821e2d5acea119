import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join, posix } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const ROOMS = ['server', 'web', 'renderer', 'db'] as const;
export const SOURCE = /\.(ts|tsx|mts|mjs|js|jsx)$/;

export interface Arrow {
  /** A package, `node:…`, or a path from the top folder. */
  readonly target: string;
  readonly kind: 'package' | 'node' | 'file';
  readonly typeOnly: boolean;
}

export interface Import {
  readonly name: string;
  readonly typeOnly: boolean;
}

/** Every module that a source names: static and dynamic imports, re-exports, type imports, and workers by address. */
export function listImports(source: string): Import[] {
  const code = stripComments(source);
  const patterns = [
    /\b(?:import|export)\s+(type\s+)?(?:[\w*\s{},$]+?\s+from\s+)?(['"])([^'"\n]+)\2/g,
    /\b(?:import|require|resolve)\s*\(()\s*(['"`])([^'"`\n]+)\2/g,
    /\bnew\s+URL\s*\(()\s*(['"])(\.[^'"\n]+\.(?:[mc]?[jt]sx?))\2/g,
    /\bregister\s*\(()\s*(['"])([^'"\n]+)\2/g,
  ];
  return patterns.flatMap((pattern) =>
    [...code.matchAll(pattern)].map((match) => ({ name: match[3]!, typeOnly: Boolean(match[1]) })),
  );
}

/** Removes comments and keeps strings, which may contain `//`. */
function stripComments(source: string): string {
  return source.replace(
    /("(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`)|\/\*[\s\S]*?\*\/|\/\/[^\n]*/g,
    (_, text: string | undefined) => text ?? ' ',
  );
}

export function classify(path: string, { name, typeOnly }: Import): Arrow {
  if (name.startsWith('node:')) return { target: name, kind: 'node', typeOnly };
  if (name.startsWith('.')) {
    const target = posix.normalize(posix.join(posix.dirname(path), name.split('?')[0]!));
    return { target, kind: 'file', typeOnly };
  }
  return { target: name, kind: 'package', typeOnly };
}

/** Every source file of the project, as a path from the top folder. */
export const sources = ROOMS.flatMap((room) =>
  existsSync(join(ROOT, room))
    ? readdirSync(join(ROOT, room), { recursive: true, encoding: 'utf8' }).map((path) => posix.join(room, path))
    : [],
).filter((path) => SOURCE.test(path) && statSync(join(ROOT, path)).isFile());

/** Every import of every source file. */
export const arrows = sources.flatMap((path) =>
  listImports(readFileSync(join(ROOT, path), 'utf8')).map((found) => ({ path, ...found, ...classify(path, found) })),
);
