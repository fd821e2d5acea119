import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { expect, it } from 'vitest';
import { findBuilt } from '../renderer/built-studio.ts';

/** Bytes of scripts and styles, after gzip, of the first page that a person opens, before the live view comes. */
const LIMIT = 120_000;

const SHEETS = ['model', 'parts', 'schedule', 'deliver'] as const;

const folder = findBuilt('web', ['web', 'renderer/page', 'server/core', 'package-lock.json']);
if (folder === null) throw new Error('The pages are not built from their newest sources. Run npm run build.');
const assets = join(folder, 'assets');

const read = (file: string) => readFileSync(join(assets, file));

/** Scripts with all that they import at once; what they import on demand is not among them. */
function listWithImports(files: readonly string[]): Set<string> {
  const all = new Set<string>();
  const left = [...files];
  for (let file = left.pop(); file !== undefined; file = left.pop()) {
    if (all.has(file)) continue;
    all.add(file);
    if (!file.endsWith('.js')) continue;
    for (const [, name] of read(file)
      .toString()
      .matchAll(/(?:from|import)\s*"\.\/([^"]+)"/g))
      left.push(name!);
  }
  return all;
}

function findChunk(name: string): string {
  const found = readdirSync(assets).filter((file) => new RegExp(`^${name}-[\\w-]{8}\\.js$`).test(file));
  expect(found).toHaveLength(1);
  return found[0]!;
}

it.each(SHEETS)('a product opened on the sheet “%s” needs less than 120 kB before its view', (sheet) => {
  const entry = readFileSync(join(folder, 'index.html')).toString();
  const named = [...entry.matchAll(/\/assets\/([^"]+\.(?:js|css))"/g)].map(([, name]) => name!);
  const files = listWithImports([...named, findChunk('product-page'), findChunk(`${sheet}-sheet`)]);
  const names = [...files].join(' ');
  expect(names).toMatch(/index-.*\.css/);
  // the view, with its library, comes when it is asked for
  expect(names).not.toMatch(/live-view|three/);
  expect([...files].reduce((sum, file) => sum + gzipSync(read(file)).length, 0)).toBeLessThan(LIMIT);
});
