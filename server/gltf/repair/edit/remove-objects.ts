import { storedRange } from '../../document/byte-ranges.ts';
import { INDEXED, type Indexed, visitReferences } from '../../document/visit-references.ts';
import { type IndexSets, makeSets } from './freed-objects.ts';
import type { ModelEdit } from './model-edit.ts';

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
