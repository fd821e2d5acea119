import { pad4 } from '../../document/container.ts';
import { type AccessorJson, MESHOPT } from '../../document/json.ts';
import { listFreed } from './freed-objects.ts';
import { bytesPerElement, type ModelEdit } from './model-edit.ts';

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
