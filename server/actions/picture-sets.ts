import { foldCode } from '../core/codes.ts';
import { type PictureSet, READY_SETS } from '../core/picture/picture-set.ts';
import { type GivenPictureSet, readPictureSet } from '../core/picture/read-picture-set.ts';
import type { Stores } from '../core/ports/stores.ts';
import { requireExpected } from '../core/precondition.ts';
import { Problem } from '../core/problems.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';
import { tagPictureSet } from './tags.ts';

type Ports = Pick<Context, 'stores'>;

/** A picture set, and whether it is built in. */
export interface KnownSet {
  readonly set: PictureSet;
  /** True for a built-in set. False for a stored one, even if it replaces a built-in set. */
  readonly ready: boolean;
  /** True for a stored set that replaces a built-in one, which comes back when this one is deleted. */
  readonly replacesReady: boolean;
}

const findBuiltIn = (code: string) => READY_SETS.find((set) => foldCode(set.code) === foldCode(code));

/** The built-in sets first, each or the stored set that replaces it, then all others by code. */
export async function listSets({ stores }: Ports): Promise<readonly KnownSet[]> {
  const stored = await stores.listPictureSets();
  const byCode = new Map(stored.map((set) => [foldCode(set.code), set]));
  const ready = READY_SETS.map((set): KnownSet => {
    const own = byCode.get(foldCode(set.code));
    return own ? { set: own, ready: false, replacesReady: true } : { set, ready: true, replacesReady: false };
  });
  const others = stored.filter(({ code }) => !findBuiltIn(code));
  return [...ready, ...others.map((set) => ({ set, ready: false, replacesReady: false }))];
}

/** @throws Problem `unknown-picture-set` */
export async function findSet(ports: Ports, code: string): Promise<KnownSet> {
  const known = (await listSets(ports)).find(({ set }) => foldCode(set.code) === foldCode(code));
  if (known) return known;
  throw new Problem('unknown-picture-set', {
    detail: PICTURE_PROBLEMS['unknown-picture-set'](code.slice(0, 80)),
    received: code.slice(0, 80),
  });
}

/**
 * Stores a set. It replaces one with the same code, even a built-in one.
 * @param ifTag see `requireExpected`
 * @throws Problem as `readPictureSet`, and `stale-picture-set`
 */
export async function putSet(
  ports: Ports,
  code: string,
  given: GivenPictureSet,
  ifTag: string | null = null,
): Promise<KnownSet & { readonly created: boolean }> {
  const set = readPictureSet(code, given);
  const created = await ports.stores.transaction(async (tx) => {
    await requireSetExpected(tx, code, ifTag);
    return tx.putPictureSet(set);
  });
  return { set, ready: false, replacesReady: findBuiltIn(code) !== undefined, created };
}

/**
 * Deletes a stored set. A built-in set that it replaced comes back.
 * @param ifTag see `requireExpected`
 * @throws Problem `unknown-picture-set`, `stale-picture-set`, `ready-picture-set`
 */
export async function deleteSet(ports: Ports, code: string, ifTag: string | null = null): Promise<void> {
  await ports.stores.transaction(async (tx) => {
    const { set, ready } = await findSet({ stores: tx }, code);
    requireExpected('picture-set', set.code, tagPictureSet(set), ifTag);
    if (ready) {
      throw new Problem('ready-picture-set', {
        detail: PICTURE_PROBLEMS['ready-picture-set'](set.name),
        received: set.code,
      });
    }
    await tx.deletePictureSet(code);
  });
}

async function requireSetExpected(tx: Stores, code: string, ifTag: string | null): Promise<void> {
  const known = (await listSets({ stores: tx })).find(({ set }) => foldCode(set.code) === foldCode(code));
  requireExpected('picture-set', code, known ? tagPictureSet(known.set) : null, ifTag);
}
