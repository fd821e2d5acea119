import pLimit from 'p-limit';
import { IMPORT_PART, type Imports } from '../core/ports/imports.ts';
import { Problem } from '../core/problems.ts';
import { IMPORT_PROBLEMS } from '../core/texts/problems/finish.ts';
import { createThreadPool, type ThreadPool } from '../threads/thread-pool.ts';
import type { Answers, Ask, Lists } from './worker/worker.ts';

/** Twenty thousand spectra are planned in two seconds; a step that takes longer has a file that was made to hang it. */
const STEP_TIMEOUT_MS = 60_000;
/** Files that are read at the same time, each in a thread of its own: a long file does not hold up all others. */
const FILES = 2;
/** The largest accepted file becomes some 300 MB of objects. */
const HEAP_MB = 1024;

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** Reads and plans files of measurements in threads of their own, which return the results in parts. `close` ends them. */
export function createImports(workerEntry = SOURCE_WORKER): Imports & { close(): Promise<void> } {
  const threads = Array.from({ length: FILES }, () => openThread(workerEntry));
  const free = [...threads];
  const eachInOne = pLimit(FILES);
  return {
    plan: (request) =>
      eachInOne(async () => {
        const thread = free.pop()!;
        try {
          return await planInThread(thread, request);
        } finally {
          free.push(thread);
        }
      }),
    async close() {
      await Promise.all(threads.map((thread) => thread.close()));
    },
  };
}

function openThread(entry: URL): ThreadPool<Ask, Answers> {
  return createThreadPool<Ask, Answers>({
    entry,
    heapMb: HEAP_MB,
    timeoutMs: STEP_TIMEOUT_MS,
    refuse: (cause) =>
      new Problem('import-unreadable', {
        detail: IMPORT_PROBLEMS['import-unreadable'].tooLarge,
        cause,
      }),
  });
}

/** The thread keeps the file from step to step. */
async function planInThread(
  { run }: ThreadPool<Ask, Answers>,
  { file, defaults, wantsFinishes, recall, signal }: Parameters<Imports['plan']>[0],
): ReturnType<Imports['plan']> {
  const ask: typeof run = (task, transfer) => run(task, transfer, { signal });
  // a copy, since the transfer detaches the buffer, and the bytes may be a part of a larger one
  const bytes = new Uint8Array(file.bytes);
  const format = await ask({ kind: 'read', file: { ...file, bytes } }, [bytes.buffer]);
  const known = await recall(await collect(ask, 'codes'));
  await ask({ kind: 'know', finishes: [], articles: known.articles, codes: known.codes ?? new Map() });
  const codes = new Map<string, never>();
  for (let from = 0; from < known.finishes.length; from += IMPORT_PART) {
    await ask({ kind: 'know', finishes: known.finishes.slice(from, from + IMPORT_PART), articles: [], codes });
  }
  await ask({ kind: 'plan', defaults });
  const planned = {
    format,
    created: await collect(ask, 'created'),
    changed: await collect(ask, 'changed'),
    unchanged: await collect(ask, 'unchanged'),
    refused: await collect(ask, 'refused'),
    finishes: wantsFinishes ? await collect(ask, 'finishes') : [],
  };
  await ask({ kind: 'forget' });
  return planned;
}

/** Fetches a whole list in parts, with a turn of the event loop between them. */
async function collect<K extends keyof Lists>(ask: ThreadPool<Ask, Answers>['run'], list: K): Promise<Lists[K]> {
  const all: unknown[] = [];
  for (;;) {
    const part = await ask({ kind: 'part', list, from: all.length });
    all.push(...part);
    if (part.length < IMPORT_PART) return all as unknown as Lists[K];
  }
}
