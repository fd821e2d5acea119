import type { Stores } from '../../server/core/ports/stores.ts';

const READS = /^(get|list|find)/;

/** What the n-th write throws. */
export class WriteFailed extends Error {}

/**
 * Stores whose n-th write fails, counted from 1 over all transactions. `writes` is the number of writes so far.
 */
export function failAtWrite(stores: Stores, n: number): { readonly stores: Stores; readonly writes: () => number } {
  let writes = 0;
  const wrap = (inner: Stores): Stores =>
    new Proxy(inner, {
      get(target, name: keyof Stores) {
        const method = target[name] as (...given: unknown[]) => Promise<unknown>;
        if (name === 'transaction' || name === 'snapshot') {
          return (work: (tx: Stores) => Promise<unknown>) => target[name]((tx) => work(wrap(tx)));
        }
        if (READS.test(name)) return method;
        return async (...given: unknown[]) => {
          writes++;
          if (writes === n) throw new WriteFailed(name);
          return method(...given);
        };
      },
    });
  return { stores: wrap(stores), writes: () => writes };
}
