import { IMPORT_PART, type Imports } from '../core/ports/imports.ts';
import type { Lists } from './worker/asks.ts';
import { type Asker, ImportThread } from './worker/import-thread.ts';

const SOURCE_WORKER = new URL('./worker/worker.mjs', import.meta.url);

/** Measurement files in: read and planned in a thread of their own, handed over in parts; `close` ends the thread. */
export function createImports(workerEntry = SOURCE_WORKER): Imports & { close(): Promise<void> } {
  const thread = new ImportThread(workerEntry);
  return {
    plan: ({ file, defaults, wantsFinishes, recall }) =>
      thread.use(async (ask) => {
        // a copy, since what is handed over is gone here, and the bytes may be a piece of a larger buffer
        const bytes = new Uint8Array(file.bytes);
        const format = await ask({ kind: 'read', file: { ...file, bytes } }, [bytes.buffer]);
        const known = recall(await collect(ask, 'codes'));
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
      }),
    close: () => thread.close(),
  };
}

/** A list whole, fetched in parts: the event loop turns between them. */
async function collect<K extends keyof Lists>(ask: Asker, list: K): Promise<Lists[K]> {
  const all: unknown[] = [];
  for (;;) {
    const part = await ask({ kind: 'part', list, from: all.length });
    all.push(...part);
    if (part.length < IMPORT_PART) return all as unknown as Lists[K];
  }
}
