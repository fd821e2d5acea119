import { fork } from 'node:child_process';
import { createHash } from 'node:crypto';
import { open, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { NodeIO } from '@gltf-transform/core';
import { writeChecked } from '../../server/actions/write-checked.ts';
import { foldCode } from '../../server/core/codes.ts';
import { type MappingPlan, planMappings } from '../../server/core/delivery/mapping-plan.ts';
import { resolveFinish } from '../../server/core/finish/resolve-finish.ts';
import { deriveSlots } from '../../server/core/product/slot.ts';
import type { Survey } from '../../server/core/product/survey.ts';
import { createModels } from '../../server/gltf/create-models.ts';
import { alternate, row, show } from './measure.ts';

const FINISHES = 20;
const RUNS = 5;

export const finishes = new Map(
  Array.from({ length: FINISHES }, (_, i) => {
    const code = `F${i + 1}`;
    const hex = `#${(0x203040 + i * 0x070503).toString(16).padStart(6, '0')}`;
    return [foldCode(code), resolveFinish({ finish: code, name: code, family: 'paint', colour: { hex } }, null)];
  }),
);

/** `rows` variants over every slot of the survey, finishes changing at a different pace in each. */
export function planRows(survey: Survey, rows: number): MappingPlan {
  const slots = deriveSlots(survey);
  const variants = Array.from({ length: rows }, (_, n) => ({
    code: `V${n + 1}`,
    name: `Variant ${n + 1}.`,
    choices: Object.fromEntries(slots.map((slot, s) => [slot.slot, `F${(Math.floor(n / (s + 1)) % FINISHES) + 1}`])),
  }));
  return planMappings(survey, slots, { default: 'V1', variants });
}

/** Delivering a large model, beside copying, hashing and syncing the same bytes, and beside reading and writing it whole. */
export async function benchDelivery(folder: string, path: string): Promise<void> {
  const models = createModels();
  const targetPath = join(folder, 'delivery.glb');
  const { survey } = await models.survey(path, 'model/gltf-binary');
  const few = planRows(survey, FINISHES);
  const many = planRows(survey, 10_000);
  const readMap = () => Promise.reject(new Error('no maps here'));
  const request = (plan: MappingPlan) => ({
    sourcePath: path,
    targetPath,
    images: survey.images,
    plan,
    finishes,
    readMap,
  });
  const megabytes = (await stat(path)).size / 1024 / 1024;
  console.log(
    `\nDelivery of ${FINISHES} finishes × ${new Set(few.results.map((result) => result.sourceMaterial)).size} slots on a model of ${megabytes.toFixed(0)} MB, ${survey.counts.primitives} parts, ${survey.counts.triangles} triangles`,
  );

  const times = await alternate(RUNS, {
    copy: () => copyHashSync(path, join(folder, 'copy.glb')),
    write: () => models.write(request(few)),
    whole: () => writeChecked(models, request(few)),
    wholeMany: () => writeChecked(models, request(many)),
  });
  row('copy, hash, sync', show(times.copy));
  row('plan, splice, digest, sync', show(times.write));
  row('  ÷ copy', (times.write.median / times.copy.median).toFixed(2), 'aim ≤ 1.5');
  row('the same with its checks', show(times.whole));
  row('  ÷ copy', (times.whole.median / times.copy.median).toFixed(2), 'aim ≤ 3');
  row('with checks, 10,000 variants', show(times.wholeMany));
  row('  more than 20 variants', `${(times.wholeMany.median - times.whole.median).toFixed(0)} ms`, 'aim ≤ 1000 ms');

  const library = await alternate(2, {
    library: async () => {
      const libraryPath = join(folder, 'library.glb');
      await new NodeIO().write(libraryPath, await new NodeIO().read(path));
      await hashSync(libraryPath);
    },
    write: () => models.write(request(few)),
  });
  row('read and write the whole document with the glTF library, hash, sync', show(library.library));
  row('  ÷ splice', (library.library.median / library.write.median).toFixed(1), 'aim ≥ 8');
  await models.close();
  const memory = await measureMemory(path, targetPath, few);
  row('memory of a delivery above the idle process', `${memory.toFixed(0)} MB`, 'aim ≤ 120 MB');
  for (const name of ['delivery.glb', 'copy.glb', 'library.glb']) await rm(join(folder, name), { force: true });
}

/** A delivery is named by its digest and safe on disk, whoever wrote it. */
async function hashSync(path: string): Promise<string> {
  const file = await open(path, 'r+');
  const hash = createHash('sha256');
  for await (const piece of file.createReadStream({ autoClose: false, highWaterMark: 1024 * 1024 }))
    hash.update(piece as Buffer);
  await file.sync();
  await file.close();
  return hash.digest('hex');
}

/** What any program that hands on a file must do: read, hash and write it in pieces, then sync. */
async function copyHashSync(from: string, to: string): Promise<string> {
  const source = await open(from, 'r');
  const target = await open(to, 'w');
  const hash = createHash('sha256');
  const buffer = Buffer.allocUnsafeSlow(1024 * 1024);
  for (;;) {
    const { bytesRead } = await source.read(buffer, 0, buffer.length, null);
    if (bytesRead === 0) break;
    const piece = buffer.subarray(0, bytesRead);
    const writing = target.write(piece);
    hash.update(piece);
    await writing;
  }
  await target.sync();
  await source.close();
  await target.close();
  return hash.digest('hex');
}

/** Peak resident memory of one delivery in a process of its own, above what the process had before. */
function measureMemory(path: string, targetPath: string, plan: MappingPlan): Promise<number> {
  const child = fork(new URL('./memory-child.ts', import.meta.url), { execArgv: ['--import', 'tsx'] });
  child.send({ path, targetPath, plan, finishes: [...finishes] });
  return new Promise((resolve, reject) => {
    child.once('message', (megabytes) => resolve(megabytes as number));
    child.once('error', reject);
    child.once('exit', (code) => code && reject(new Error(`the memory measure ended with ${code}`)));
  });
}
