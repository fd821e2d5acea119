import { readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { basename, dirname, extname, join, relative } from 'node:path';
import { zipSync } from 'fflate';
import { readProduct } from '../../server/commands/arguments.ts';
import { openModel } from '../../server/commands/open-model.ts';
import { BUDGETS } from '../../server/core/product/budgets.ts';
import { checkModel } from '../../server/core/product/check-model.ts';
import { deriveSlots } from '../../server/core/product/slot.ts';
import { listProposals } from '../../server/core/repair/list-proposals.ts';
import { createModels } from '../../server/gltf/create-models.ts';

/**
 * What readiness says of every model of these folders, and which repairs it proposes to be made: for reading, so that a
 * false alarm or a silence on real models is seen before a threshold is kept. Ends with how often each occurs.
 */
export async function benchFindings(folder: string, roots: readonly string[]): Promise<void> {
  if (roots.length === 0) throw new Error('Name a folder of models: npm run bench findings FOLDER');
  const models = createModels();
  const tally = new Map<string, Set<string>>();
  const note = (key: string, path: string) => tally.set(key, (tally.get(key) ?? new Set()).add(path));
  let read = 0;
  try {
    for (const path of (await Promise.all(roots.map(listModels))).flat()) {
      const source = await openModel(models, await pack(path, folder)).catch((error: Error) => error);
      console.log(`\n${path}`);
      if (source instanceof Error) {
        console.log(`  refused: ${source.message}`);
        note('refused', path);
        continue;
      }
      read++;
      const { survey, pieces, packed } = source;
      await source.close();
      const findings = checkModel({
        product: readProduct({}),
        survey,
        slots: deriveSlots(survey),
        budget: BUDGETS[0]!,
        pieces,
        packed,
      });
      for (const { severity, code, place, message } of findings) {
        console.log(`  ${severity.padEnd(7)} ${code} [${place ?? ''}] ${message}`);
        note(`${severity.padEnd(7)} ${code}`, path);
      }
      for (const repair of listProposals(findings)) {
        console.log(`  proposed ${JSON.stringify(repair).slice(0, 200)}`);
        note(`proposed ${repair.repair}`, path);
      }
    }
  } finally {
    await models.close();
  }
  console.log(`\n${read} models read; models by what is said of them:`);
  for (const [key, paths] of [...tally].sort()) console.log(`${String(paths.size).padStart(6)}  ${key}`);
}

export async function listModels(root: string): Promise<string[]> {
  if (!(await stat(root)).isDirectory()) return [root];
  const names = await readdir(root, { recursive: true });
  return names
    .filter((name) => /\.(glb|gltf|zip)$/i.test(name))
    .sort()
    .map((name) => join(root, name));
}

/** A `.gltf` with the files beside it, as a zip; all else as it is. */
export async function pack(path: string, folder: string): Promise<string> {
  if (extname(path).toLowerCase() !== '.gltf') return path;
  const beside = (await readdir(dirname(path))).filter((name) => /\.(bin|png|jpe?g|webp|ktx2)$/i.test(name));
  const files = [basename(path), ...beside].map(async (name) => [
    name,
    new Uint8Array(await readFile(join(dirname(path), name))),
  ]);
  const target = join(folder, `${relative('/', path).replaceAll('/', '-')}.zip`);
  await writeFile(target, zipSync(Object.fromEntries(await Promise.all(files)), { level: 0 }));
  return target;
}
