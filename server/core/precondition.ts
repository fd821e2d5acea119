import { Problem } from './problems.ts';
import { STALE_PROBLEMS } from './texts/problems/stale.ts';

/** Says that a caller expects nothing to be stored yet. */
export const ABSENT = '';
/** Says that a caller expects something to be stored, whatever it is. */
export const PRESENT = '*';

/** Things that carry a tag, which changes with every edit. */
export type Tagged = keyof typeof STALE_PROBLEMS extends `stale-${infer Kind}` ? Kind : never;

/**
 * Checks that a stored thing is still what a caller expects (RFC 9110, sections 13.1.1 and 13.1.2).
 * @param tag of the stored thing; null if there is none
 * @param ifTag a tag, or several separated by commas; `ABSENT`; `PRESENT`; null if the caller accepts everything
 * @throws Problem `stale-…`, with the stored tag as `expected`
 */
export function requireExpected(kind: Tagged, code: string, tag: string | null, ifTag: string | null): void {
  if (isExpected(tag, ifTag)) return;
  const since = tag === null ? 'deleted' : ifTag === ABSENT ? 'added' : 'changed';
  throw new Problem(`stale-${kind}`, {
    detail: STALE_PROBLEMS[`stale-${kind}`](code.slice(0, 80), since),
    expected: tag,
    received: ifTag,
  });
}

function isExpected(tag: string | null, ifTag: string | null): boolean {
  if (ifTag === null) return true;
  if (ifTag === ABSENT) return tag === null;
  if (ifTag === PRESENT) return tag !== null;
  return tag !== null && ifTag.split(',').includes(tag);
}
