import type { Repaired } from '../../../core/ports/models.ts';
import { type BufferViewJson, type GltfJson, MESHOPT } from '../../document/json.ts';
import { type ByteRange, keepRanges, makeShift, moveViews, planCuts } from '../../write/plan-cuts.ts';
import { collectParts, streamGlb } from '../../write/stream-glb.ts';
import { listFreed, removeObjects } from './freed-objects.ts';
import { listUsedBuffers, type ModelEdit } from './model-edit.ts';

/**
 * Writes a repaired model: the bytes of the source that something still reads, in order and unchanged, then the added bytes.
 * Removes what repairs freed and renumbers the rest, unless an unknown extension may refer to it.
 */
export async function writeEdit(edit: ModelEdit, targetPath: string): Promise<Omit<Repaired, 'reports'>> {
  const { json, bin } = edit;
  const cuts = [];
  if (edit.mayRenumber) {
    removeObjects(edit, listFreed(json, edit.source.referred, edit.source.lengths));
    if (bin) cuts.push(...cutFreed(edit, bin));
  }
  const sourceLength = bin?.length ?? 0;
  moveViews({ ...json, bufferViews: json.bufferViews?.filter((_, index) => !edit.added.has(index)) }, makeShift(cuts));
  const chunk = collectParts(
    bin ? keepRanges(cuts, sourceLength).map(({ start, end }) => bin.subarray(start, end)) : [],
  );
  for (const [index, bytes] of edit.added) {
    const offset = chunk.append(bytes);
    const view = json.bufferViews![index]!;
    if (offset > 0) view.byteOffset = offset;
  }
  finishBuffers(edit, chunk.length);
  const { sha256, bytes } = await streamGlb(targetPath, json, { path: '', ranges: [] }, chunk.parts);
  return { sha256, bytes, materialOrigins: edit.materialOrigins };
}

/** Ranges of the source that repairs freed and no view reads. Added views are not in the source, so they do not count. */
function cutFreed({ json, added, freedRanges }: ModelEdit, bin: Buffer): ByteRange[] {
  const nowhere: BufferViewJson = { buffer: -1, byteLength: 0 };
  const live = (json.bufferViews ?? []).map((view, index) => (added.has(index) ? nowhere : view));
  const freed = freedRanges.map(({ start, end }) => ({ buffer: 0, byteOffset: start, byteLength: end - start }));
  return planCuts(
    { ...json, buffers: [{ byteLength: bin.length }], bufferViews: [...live, ...freed] },
    new Set(freed.map((_, index) => live.length + index)),
  );
}

/** Sets the length of the BIN chunk, and drops buffers at the end that repairs emptied. */
function finishBuffers({ json, usedBuffers, madeRoom }: ModelEdit, length: number): void {
  const buffers = (json.buffers ??= []);
  if (length > 0 && buffers.length === 0) buffers.push({ byteLength: length });
  if (length > 0 || (buffers[0] && buffers[0].uri === undefined && !madeRoom)) buffers[0]!.byteLength = length;
  const used = listUsedBuffers(json);
  while (buffers.length > 1 && usedBuffers.has(buffers.length - 1) && !used.has(buffers.length - 1)) buffers.pop();
  if (length === 0 && madeRoom) removeInsertedBuffer(json);
  else if (length === 0 && buffers.length === 1 && !used.has(0)) buffers.pop();
  if (buffers.length === 0) delete json.buffers;
}

/** Removes the empty buffer that `ModelEdit` inserted in front. */
function removeInsertedBuffer(json: GltfJson): void {
  json.buffers!.shift();
  for (const view of json.bufferViews ?? []) {
    view.buffer--;
    for (const name of MESHOPT) {
      const extension = view.extensions?.[name] as { buffer: number } | undefined;
      if (extension) extension.buffer--;
    }
  }
}
