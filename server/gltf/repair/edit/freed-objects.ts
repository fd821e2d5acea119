import { pad4 } from '../../document/container.ts';
import { type AccessorJson, type GltfJson, MESHOPT } from '../../document/json.ts';
import { storedRange } from '../../document/stored-bytes.ts';
import {
  INDEXED,
  type Indexed,
  type IndexSets,
  makeIndexSets,
  visitReferences,
} from '../../document/visit-references.ts';
import { bytesPerElement, type ModelEdit } from './model-edit.ts';

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
  const freed = makeIndexSets();
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

/** Removes objects from their arrays and renumbers every reference. No object that stays may refer to them. */
export function removeObjects(edit: ModelEdit, remove: IndexSets): void {
  const { json } = edit;
  if (INDEXED.every((array) => remove[array].size === 0)) return;
  const numbers = Object.fromEntries(
    INDEXED.map((array) => [array, renumber((json[array] as unknown[] | undefined)?.length ?? 0, remove[array])]),
  ) as Record<Indexed, Int32Array>;
  // removed objects may refer to each other
  visitReferences(json, ({ array, index, owner, set }) => {
    if (owner && remove[owner.array].has(owner.index)) return;
    const next = numbers[array][index];
    // the reference was already broken in the source
    if (next === undefined) return;
    if (next < 0) throw new Error(`${array}/${index} is still in use`);
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
  const referred = makeIndexSets();
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

/**
 * Splits buffer views in which a repair replaced some accessors, so that the writer can leave out the bytes of those.
 * Attributes are often interleaved, or one view holds those of many parts.
 */
export function repackViews(edit: ModelEdit): void {
  const { json } = edit;
  if (!edit.mayRenumber) return;
  const freed = listFreed(json, edit.source.referred, edit.source.lengths);
  const kept = new Map<number, number[]>();
  const broken = new Set<number>();
  json.accessors?.forEach(({ bufferView }, index) => {
    if (bufferView === undefined) return;
    if (freed.accessors.has(index)) broken.add(bufferView);
    else {
      const others = kept.get(bufferView);
      if (others) others.push(index);
      else kept.set(bufferView, [index]);
    }
  });
  for (const view of broken) {
    const accessors = kept.get(view);
    if (!accessors || !canSplit(edit, view)) continue;
    const split = new Map<string, number>();
    for (const index of accessors) {
      const accessor = json.accessors![index]!;
      const { byteOffset = 0, componentType, type, count } = accessor;
      const key = [byteOffset, componentType, type, count].join(' ');
      const own = split.get(key) ?? splitView(edit, view, accessor);
      split.set(key, own);
      accessor.bufferView = own;
      delete accessor.byteOffset;
    }
  }
}

function canSplit({ json, bin, added }: ModelEdit, index: number): boolean {
  const view = json.bufferViews![index]!;
  if (added.has(index)) return true;
  return bin !== null && view.buffer === 0 && !MESHOPT.some((name) => view.extensions?.[name]);
}

/** Makes a view for one accessor: a range of the old view when its bytes are contiguous, or else a copy. */
function splitView(edit: ModelEdit, index: number, accessor: AccessorJson): number {
  const { json, bin, added } = edit;
  const { byteOffset = 0, byteStride, target } = json.bufferViews![index]!;
  const item = bytesPerElement(accessor.componentType, accessor.type);
  const stride = byteStride ?? item;
  const start = accessor.byteOffset ?? 0;
  const length = accessor.count === 0 ? 0 : stride * (accessor.count - 1) + item;
  const more = target === undefined ? {} : { target };
  // vertex elements start at multiples of four bytes (glTF 2.0 §3.6.2.4)
  const own = byteStride === undefined ? item : pad4(item);
  const strided = own === item ? more : { ...more, byteStride: own };
  const source = added.get(index) ?? bin!.subarray(byteOffset);
  if (stride === own) {
    if (added.has(index)) return edit.addView(source.subarray(start, start + length), strided);
    const view = { buffer: 0, byteOffset: byteOffset + start, byteLength: length, ...strided };
    return json.bufferViews!.push(view) - 1;
  }
  const bytes = Buffer.alloc(own * accessor.count);
  for (let i = 0; i < accessor.count; i++) {
    source.copy(bytes, i * own, start + i * stride, start + i * stride + item);
  }
  return edit.addView(bytes, strided);
}
