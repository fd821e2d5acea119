import { foldCode } from '../core/codes.ts';
import { type PictureSet, READY_SETS } from '../core/picture/picture-set.ts';
import { type GivenPictureSet, readPictureSet } from '../core/picture/read-picture-set.ts';
import { Problem } from '../core/problems.ts';
import { PICTURE_PROBLEMS } from '../core/texts/problems/picture.ts';
import type { Context } from './context.ts';

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
 * @throws Problem as `readPictureSet`
 */
export async function putSet(
  ports: Ports,
  code: string,
  given: GivenPictureSet,
): Promise<KnownSet & { readonly created: boolean }> {
  const set = readPictureSet(code, given);
  const created = await ports.stores.putPictureSet(set);
  return { set, ready: false, replacesReady: findBuiltIn(code) !== undefined, created };
}

/**
 * Deletes a stored set. A built-in set that it replaced comes back.
 * @throws Problem `unknown-picture-set`, `ready-picture-set`
 */
export async function deleteSet(ports: Ports, code: string): Promise<void> {
  if (await ports.stores.deletePictureSet(code)) return;
  const { set } = await findSet(ports, code);
  throw new Problem('ready-picture-set', {
    detail: PICTURE_PROBLEMS['ready-picture-set'](set.name),
    received: set.code,
  });
}
