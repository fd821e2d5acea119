import { canonical } from '../canonical.ts';
import { foldCode } from '../codes.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { toLook } from '../finish/to-look.ts';
import type { Mount } from '../picture/picture.ts';
import { KEEP_ALL, readNormalKeep, type Slot } from '../product/slot.ts';

/** What a decision was made on. It stands while all of this stays as it was, and again once it is so again. */
export interface ApprovedLook {
  /** Of a variant: the model it was seen on; null where there was none. Digests are SHA-256 in hex. */
  readonly model?: { readonly revision: number; readonly sha256: string } | null;
  /** Of a variant: it decides where the shadow falls. */
  readonly mount?: Mount;
  /** The finish alone, or for a variant one in every slot that makes a choice, by slot key. */
  readonly worn: readonly WornLook[];
}

/** A finish as it looked, and for a variant how it lay on its slot. */
export interface WornLook {
  readonly finish: string;
  /** Digest of `describeFinishLook`. */
  readonly look: string;
  readonly on?: SlotLook;
}

export interface SlotLook {
  readonly slot: string;
  readonly label: string;
  /** A fixed slot shows what the model came with, whatever is chosen for it. */
  readonly fixed: boolean;
  /** Degrees counter-clockwise, 0–179. */
  readonly grainDegrees: number;
  /** Digest of what the slot keeps of its part. */
  readonly keeps: string;
  /** Digest of the primitives it covers. */
  readonly covers: string;
}

/**
 * A finish without what is only said of it, as text that is the same for the same look. Figures are rounded to a
 * hundred-thousandth: the last digits of a fit may differ by machine, and nobody sees them.
 */
export function describeFinishLook(resolved: ResolvedFinish): string {
  // out of sRGB two specified colours may be delivered alike, but a sample is held against what is specified
  return canonical(round({ ...toLook(resolved), specifiedLab: resolved.specifiedLab }));
}

/**
 * What a slot keeps of its part, as text; a yes or no for the normal map is the same as its word, and what a slot stored
 * before there was such a choice does not say, it keeps.
 */
export function describeKeep({ keep }: Pick<Slot, 'keep'>): string {
  return canonical({ ...KEEP_ALL, ...keep, normal: readNormalKeep(keep.normal) });
}

function round(value: unknown): unknown {
  // adding 0 makes a plain zero of a negative one
  if (typeof value === 'number') return Math.round(value * 1e5) / 1e5 + 0;
  if (Array.isArray(value)) return value.map(round);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, round(each)]));
}

/** What changed from one look to another: a sentence for each change, the widest first; empty where they are the same. */
export function listLookChanges(then: ApprovedLook, now: ApprovedLook): string[] {
  const changes: string[] = [];
  const sameModel = then.model?.sha256 === now.model?.sha256;
  if (!sameModel) changes.push(sayModel(then.model, now.model));
  if (then.mount !== now.mount) changes.push(`The mount is ${now.mount} now; it was ${then.mount}.`);
  const standing = new Map(now.worn.map((worn) => [worn.on?.slot, worn]));
  for (const before of then.worn) {
    const after = standing.get(before.on?.slot);
    standing.delete(before.on?.slot);
    if (after) changes.push(...listWornChanges(before, after, sameModel));
    else changes.push(`${placeOf(before)} is no longer part of it.`);
  }
  for (const added of standing.values()) changes.push(`${placeOf(added)} has been added.`);
  return changes;
}

function listWornChanges(before: WornLook, after: WornLook, sameModel: boolean): string[] {
  const [was, is] = [before.on, after.on];
  const place = placeOf(after);
  if (was?.fixed !== is?.fixed) {
    return [is?.fixed ? `${place} is fixed now and shows the model’s own material.` : `${place} is no longer fixed.`];
  }
  // another model has other primitives, which says nothing more; a fixed slot wears none of what follows
  const moved = sameModel && was?.covers !== is?.covers ? [`${place} covers other parts of the model now.`] : [];
  if (is?.fixed) return moved;
  const changes: string[] = [];
  if (foldCode(before.finish) !== foldCode(after.finish)) {
    changes.push(`${place} wears ${after.finish} now; it wore ${before.finish}.`);
  } else if (before.look !== after.look) {
    changes.push(`The finish ${after.finish}${is ? ` on ${place}` : ''} has changed.`);
  }
  if (was?.keeps !== is?.keeps) changes.push(`What ${place} keeps of its part has changed.`);
  if (was?.grainDegrees !== is?.grainDegrees) {
    changes.push(`The grain on ${place} lies at ${is?.grainDegrees}° now; it lay at ${was?.grainDegrees}°.`);
  }
  return [...changes, ...moved];
}

function sayModel(then: ApprovedLook['model'], now: ApprovedLook['model']): string {
  if (!now) return 'The model is gone.';
  return then
    ? `The model is another revision: ${then.revision} then, ${now.revision} now.`
    : `The model came afterwards, as revision ${now.revision}.`;
}

function placeOf({ finish, on }: WornLook): string {
  return on ? `“${on.label}”` : `The finish ${finish}`;
}
