import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import pLimit from 'p-limit';
import type { ModelMediaType } from '../../server/core/ports/models.ts';
import { Problem } from '../../server/core/problems.ts';
import { createModels } from '../../server/gltf/create-models.ts';
import { createImports } from '../../server/import/create-imports.ts';
import { makeGlb } from '../support/glb.ts';
import {
  type KnownFile,
  listKnownImages,
  listKnownMeasurements,
  listKnownModels,
  packInZip,
  withUri,
} from './known-files.ts';
import { changeBytes, changeJson, type Mutation, mutations } from './mutations.ts';

export interface FuzzReport {
  readonly seed: number;
  readonly count: number;
  /** Files that were read, and refusals by their code. */
  readonly read: number;
  readonly refused: Readonly<Record<string, number>>;
  /** What must not happen: errors without a code, faults of the service, files that ran out of time or memory. */
  readonly faults: readonly string[];
  /** Longest time for one file, s; it depends on the machine. */
  readonly longestS: number;
  /** Most memory of the process with all its threads, MiB. */
  readonly peakMib: number;
}

interface FuzzOptions {
  readonly seed: number;
  readonly count: number;
  /** Stop after so many seconds, with the count so far. */
  readonly seconds?: number;
  readonly tell?: (done: number) => void;
}

/** Limits of one file, so that one that hangs is a fault within the test's time. */
const LIMITS = { threads: 3, heapMb: 1024, timeoutMs: 60_000 };
const BATCH = 60;

/** Sends mutated models, archives, images and files of measurements through the threads that read uploads. */
export async function fuzzUploads({ seed, count, seconds = Infinity, tell }: FuzzOptions): Promise<FuzzReport> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-fuzz-'));
  const models = createModels(undefined, LIMITS);
  const imports = createImports();
  const known = { models: await listKnownModels(), images: await listKnownImages(), texts: listKnownMeasurements() };
  const end = performance.now() + seconds * 1000;
  const refused: Record<string, number> = {};
  const faults: string[] = [];
  let [done, read, longest] = [0, 0, 0];

  async function upload(mutation: Mutation, name: string): Promise<void> {
    const { packing } = mutation;
    if (packing % 10 === 0) return sendImage(pick(known.images, mutation));
    if (packing % 10 === 1) return sendMeasurements(pick(known.texts, mutation));
    const model = known.models[mutation.source % known.models.length]!;
    const json = changeJson(model.json, mutation.json);
    const path = join(folder, name);
    const [bytes, type] = packModel(json, model.bin, mutation);
    await writeFile(path, changeBytes(bytes, mutation.bytes));
    await models.survey(path, type, { product: name });
  }
  const sendImage = async (bytes: Uint8Array) => {
    await models.measureFile(bytes);
  };
  const sendMeasurements = async (bytes: Uint8Array) => {
    await imports.plan({
      file: { bytes, charset: null, viewing: {} },
      defaults: { family: 'paint' },
      wantsFinishes: true,
      recall: () => ({ finishes: [], articles: [] }),
    });
  };

  async function tryOne(mutation: Mutation, at: number): Promise<void> {
    const start = performance.now();
    try {
      await upload(mutation, `m${at}`);
      read++;
    } catch (error) {
      const fault = faultOf(error);
      if (fault) faults.push(`seed ${seed}, number ${at}: ${fault} ${JSON.stringify(mutation).slice(0, 300)}`);
      else refused[(error as Problem).code] = (refused[(error as Problem).code] ?? 0) + 1;
    }
    longest = Math.max(longest, performance.now() - start);
    done++;
  }

  try {
    const atOnce = pLimit(LIMITS.threads);
    for (let from = 0; from < count && performance.now() < end; from += BATCH) {
      const batch = fc.sample(mutations, { seed: seed * 100_003 + from, numRuns: Math.min(BATCH, count - from) });
      await Promise.all(batch.map((mutation, i) => atOnce(() => tryOne(mutation, from + i))));
      for (const file of await readdir(folder)) await rm(join(folder, file), { force: true });
      tell?.(done);
    }
  } finally {
    await Promise.all([models.close(), imports.close()]);
    await rm(folder, { recursive: true, force: true });
  }
  const peakMib = Math.round(process.resourceUsage().maxRSS / 1024);
  return { seed, count: done, read, refused, faults, longestS: Math.round(longest / 100) / 10, peakMib };
}

function pick(files: readonly KnownFile[], { source, bytes }: Mutation): Buffer {
  return changeBytes(files[source % files.length]!.bytes, bytes);
}

function packModel(json: unknown, bin: Buffer, { packing }: Mutation): [Uint8Array, ModelMediaType] {
  const chunk = bin.length > 0 ? bin : null;
  switch (packing % 10) {
    case 2:
      return [packInZip(withUri(json, bin, false), bin, packing), 'application/zip'];
    case 3:
      return [Buffer.from(JSON.stringify(withUri(json, bin, true)) ?? ''), 'model/gltf+json'];
    default:
      return [makeGlb(json ?? null, chunk), 'model/gltf-binary'];
  }
}

/** Null for a refusal that names its reason. */
function faultOf(error: unknown): string | null {
  if (!(error instanceof Problem)) return String((error as Error).stack ?? error).slice(0, 600);
  const ranOut = error.code === 'model-took-too-long' || error.code === 'queue-full' || error.more.cause !== undefined;
  // the message of a decoder or parser is a cause as well; only an ended thread says that its limits were not enough
  const ended = ranOut && /terminated|worker|aborted/i.test(String((error.more.cause as Error)?.message ?? ''));
  return error.kind === 'failed' || error.code === 'model-took-too-long' || ended
    ? `${error.code}: ${error.message}`
    : null;
}
