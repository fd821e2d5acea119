import { listLineChanges } from '../core/line/describe-line.ts';
import type { Line } from '../core/line/line.ts';
import type { Stores, TaggedLine } from '../core/ports/stores.ts';
import { Problem } from '../core/problems.ts';
import { PRODUCT_PROBLEMS } from '../core/texts/problems/product.ts';
import type { Context } from './context.ts';
import { createStoreCache } from './store-cache.ts';

type WithStores = Pick<Context, 'stores'>;

/** @throws Problem `unknown-line-code` */
export async function getLine({ stores }: WithStores, code: string): Promise<Line> {
  return (await stores.getLine(code)) ?? refuseUnknown(code);
}

/** The line with the tag that guards edits of it. @throws Problem `unknown-line-code` */
export async function getTaggedLine({ stores }: WithStores, code: string): Promise<TaggedLine> {
  const tagged = (await stores.getTaggedLine(code)) ?? refuseUnknown(code);
  remember(stores, tagged);
  return tagged;
}

/**
 * Writes what was made of a line as it was read. Where a caller stated the tag it had read, a change since then is refused,
 * with what it was; where it stated none, the write is made again on the line as it is now.
 * @param write is handed the tag that must still be there; empty for a line that is not there
 * @throws Problem `stale-line`
 */
export async function writeOnLine<T>(
  { stores }: WithStores,
  code: string,
  ifTag: string | null,
  write: (before: Line | null, tag: string) => Promise<T>,
): Promise<T> {
  for (let attempt = 1; ; attempt++) {
    const before = await stores.getTaggedLine(code);
    try {
      return await write(before?.line ?? null, ifTag ?? before?.tag ?? '');
    } catch (error) {
      if (!(error instanceof Problem) || error.code !== 'stale-line') throw error;
      if (ifTag !== null) throw explain(error, stores, ifTag, await stores.getTaggedLine(code));
      if (attempt === ATTEMPTS) throw error;
    }
  }
}

/** Writes that find another one in between each time are many more than people make. */
const ATTEMPTS = 5;

/** Lines as callers last read them, over all lines: enough for those who edit now, and little memory where lines are long. */
const recentlyRead = createStoreCache<Line>(12);

function remember(stores: Stores, { line, tag }: TaggedLine): void {
  recentlyRead(stores).set(tag, line);
}

/** Changes named in the sentence; all of them stand beside it. */
const NAMED = 3;

/** Says what has changed since, where it is known what the caller had read. */
function explain(stale: Problem, stores: Stores, tag: string, now: TaggedLine | null): Problem {
  const read = recentlyRead(stores).get(tag);
  if (!read || !now) return stale;
  const changes = listLineChanges(read, now.line);
  const more = changes.length > NAMED ? ` And ${changes.length - NAMED} more.` : '';
  return new Problem('stale-line', {
    ...stale.more,
    detail: PRODUCT_PROBLEMS['stale-line'].withChanges(stale.message, `${changes.slice(0, NAMED).join(' ')}${more}`),
    findings: changes.map((message) => ({ message })),
  });
}

function refuseUnknown(code: string): never {
  throw new Problem('unknown-line-code', {
    detail: PRODUCT_PROBLEMS['unknown-line-code'](code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}
