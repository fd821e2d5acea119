import { storedRange } from '../../document/byte-ranges.ts';
import type { GltfJson } from '../../document/json.ts';
import { INDEXED, type Indexed, visitReferences } from '../../document/visit-references.ts';
import type { ModelEdit } from './model-edit.ts';

export type IndexSets = Readonly<Record<Indexed, ReadonlySet<number>>>;
type MutableSets = Record<Indexed, Set<number>>;

export function makeSets(): MutableSets {
  return Object.fromEntries(INDEXED.map((array) => [array, new Set<number>()])) as MutableSets;
}

/** Which objects anything refers to. */
export function listReferred(json: GltfJson): IndexSets {
  const referred = makeSets();
  visitReferences(json, ({ array, index }) => {
    referred[array].add(index);
  });
  return referred;
}

/**
 * What repairs freed: objects that something referred to before, or that repairs added, and that nothing which stays
 * refers to now. What lay about unused in the source is not among it, nor what that refers to. References are counted and
 * counted down, so that a chain of a million nodes takes no longer than a million nodes side by side.
 */
export function listFreed(
  json: GltfJson,
  before: IndexSets,
  sourceLengths: Readonly<Record<Indexed, number>>,
): IndexSets {
  const freed = makeSets();
  const counts = countReferences(json);
  const open: Item[] = [];
  const free = (array: Indexed, index: number) => {
    if (index < sourceLengths[array] && !before[array].has(index)) return;
    freed[array].add(index);
    open.push({ array, index });
  };
  for (const array of INDEXED) {
    counts[array].forEach((references, index) => {
      if (references === 0) free(array, index);
    });
  }
  if (open.length === 0) return freed;
  const held = listHeld(json);
  for (let item = open.pop(); item; item = open.pop()) {
    for (const { array, index } of held[item.array].get(item.index) ?? []) {
      if (index in counts[array] && --counts[array][index]! === 0) free(array, index);
    }
  }
  return freed;
}

interface Item {
  readonly array: Indexed;
  readonly index: number;
}

function countReferences(json: GltfJson): Record<Indexed, Int32Array> {
  const counts = Object.fromEntries(
    INDEXED.map((array) => [array, new Int32Array((json[array] as unknown[] | undefined)?.length ?? 0)]),
  ) as Record<Indexed, Int32Array>;
  visitReferences(json, ({ array, index }) => {
    if (index in counts[array]) counts[array][index]!++;
  });
  return counts;
}

/** What every object refers to. */
function listHeld(json: GltfJson): Record<Indexed, Map<number, Item[]>> {
  const held = Object.fromEntries(INDEXED.map((array) => [array, new Map<number, Item[]>()])) as Record<
    Indexed,
    Map<number, Item[]>
  >;
  visitReferences(json, ({ array, index, owner }) => {
    if (!owner) return;
    const own = held[owner.array].get(owner.index);
    if (own) own.push({ array, index });
    else held[owner.array].set(owner.index, [{ array, index }]);
  });
  return held;
}

/** Takes objects out of their arrays and renumbers every reference; nothing that stays may refer to them. */
export function removeObjects(edit: ModelEdit, remove: IndexSets): void {
  const { json } = edit;
  if (INDEXED.every((array) => remove[array].size === 0)) return;
  const numbers = Object.fromEntries(
    INDEXED.map((array) => [array, renumber((json[array] as unknown[] | undefined)?.length ?? 0, remove[array])]),
  ) as Record<Indexed, Int32Array>;
  // an object that goes need not be renumbered, and may refer to others that go
  visitReferences(json, ({ array, index, owner, set }) => {
    if (owner && remove[owner.array].has(owner.index)) return;
    const next = numbers[array][index];
    // it pointed at nothing in the source, and does so still
    if (next === undefined) return;
    if (next < 0) throw new Error(`${array}/${index} is still referred to`);
    if (next !== index) set(next);
  });
  for (const index of remove.bufferViews) {
    if (edit.added.has(index)) continue;
    const { buffer, start, end } = storedRange(json, index);
    if (buffer === 0) edit.freedRanges.push({ start, end });
  }
  renumberSource(edit, numbers);
  const views = [...edit.added];
  edit.added.clear();
  for (const [index, bytes] of views) {
    const next = numbers.bufferViews[index]!;
    if (next >= 0) edit.added.set(next, bytes);
  }
  const origins = edit.materialOrigins.filter((_, index) => !remove.materials.has(index));
  edit.materialOrigins.splice(0, edit.materialOrigins.length, ...origins);
  const root = json as unknown as Record<string, unknown[] | undefined>;
  for (const array of INDEXED) {
    const list = root[array];
    if (!list || remove[array].size === 0) continue;
    const kept = list.filter((_, index) => !remove[array].has(index));
    if (kept.length > 0) root[array] = kept;
    else delete root[array];
  }
}

function renumberSource(edit: ModelEdit, numbers: Readonly<Record<Indexed, Int32Array>>): void {
  const referred = makeSets();
  const lengths = { ...edit.source.lengths };
  for (const array of INDEXED) {
    for (const index of edit.source.referred[array]) {
      const next = numbers[array][index];
      if (next !== undefined && next >= 0) referred[array].add(next);
    }
    lengths[array] = numbers[array].subarray(0, lengths[array]).filter((next) => next >= 0).length;
  }
  edit.source = { referred, lengths };
}

function renumber(length: number, remove: ReadonlySet<number>): Int32Array {
  const numbers = new Int32Array(length);
  let next = 0;
  for (let index = 0; index < length; index++) numbers[index] = remove.has(index) ? -1 : next++;
  return numbers;
}
