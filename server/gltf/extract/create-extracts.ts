import { LRUCache } from 'lru-cache';
import type { ExtractRequest, Models, ModelWork } from '../../core/ports/models.ts';

type Extracted = Awaited<ReturnType<Models['extract']>>;

/** Heads of files that were planned last, so that ranges of one file are planned once. */
const KEPT_BYTES = 16 * 1024 * 1024;

/** Plans each file once for all who ask at the same time, and keeps the last plans. */
export function createExtracts(plan: (request: ExtractRequest, work: ModelWork) => Promise<Extracted>) {
  const kept = new LRUCache<string, Extracted>({
    maxSize: KEPT_BYTES,
    sizeCalculation: ({ head, ranges }) => head.length + ranges.length * 32 + 256,
  });
  const running = new Map<string, Promise<Extracted>>();
  return {
    async get(request: ExtractRequest, { product }: ModelWork = {}): Promise<Extracted> {
      const { path, variants, first, withExtension, digest } = request;
      const key = [path, withExtension, first, variants.join()].join(' ');
      const known = kept.get(key);
      if (known && (digest === null || known.digest !== '') && digest !== 'crc32') return known;
      const asked = `${key} ${digest}`;
      let work = running.get(asked);
      if (!work) {
        // several may wait for it, so the leaving of one ends nothing
        work = plan(request, product === undefined ? {} : { product });
        running.set(asked, work);
        work
          .then(
            // a zip asks for every file once, and none of them again
            (made) => void (digest !== 'crc32' && kept.set(key, made)),
            () => undefined,
          )
          .finally(() => running.delete(asked));
      }
      return work;
    },
  };
}
