import type { GltfJson } from '../../document/json.ts';
import { INDEXED, type Indexed, visitReferences } from '../../document/visit-references.ts';

export type IndexSets = Readonly<Record<Indexed, ReadonlySet<number>>>;
type MutableSets = Record<Indexed, Set<number>>;

export function makeSets(): MutableSets {
  return Object.fromEntries(INDEXED.map((array) => [array, new Set<number>()])) as MutableSets;
}

/** The objects to which something refers. */
export function listReferred(json: GltfJson): IndexSets {
  const referred = makeSets();
  visitReferences(json, ({ array, index }) => {
    referred[array].add(index);
  });
  return referred;
}

/**
 * The objects that repairs freed: something referred to them before, or repairs added them, and nothing that stays refers
 * to them now. Objects that were unused in the source are not freed, nor is what they refer to. Reference counts keep the
 * time linear, even for a chain of a million nodes.
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

/** For every object the objects to which it refers. */
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
