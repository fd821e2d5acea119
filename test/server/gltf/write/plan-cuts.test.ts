import { describe, expect, it } from 'vitest';
import type { BufferViewJson, GltfJson } from '../../../../server/gltf/document/json.ts';
import { keepRanges, makeShift, planCuts } from '../../../../server/gltf/write/plan-cuts.ts';
import { createRandom } from '../../../support/random.ts';

// What a delivery leaves out: runs that only freed images covered. Whatever lies around them, every live byte must come
// through, in order, at an offset that is the same modulo four (glTF 2.0 §3.6.2.4, alignment of accessors).

function makeJson(views: readonly BufferViewJson[], byteLength: number): GltfJson {
  return { asset: { version: '2.0' }, buffers: [{ byteLength }], bufferViews: [...views] };
}

describe('cuts', () => {
  it('do not overlap where the padding of one freed run reaches into the next', () => {
    const views = [
      { buffer: 0, byteOffset: 0, byteLength: 97 },
      { buffer: 0, byteOffset: 98, byteLength: 97 },
      { buffer: 0, byteOffset: 196, byteLength: 24 },
    ];
    const cuts = planCuts(makeJson(views, 220), new Set([0, 1]));
    const kept = keepRanges(cuts, 220).reduce((sum, range) => sum + range.end - range.start, 0);
    const left = cuts.reduce((sum, cut) => sum + cut.end - cut.start, 0);
    expect(kept + left).toBe(220);
    expect(makeShift(cuts)(196)).toBe(196 - left);
  });

  it('bring every live byte through, over many random layouts', () => {
    const { next: random } = createRandom(20);
    for (let round = 0; round < 500; round++) {
      const views: BufferViewJson[] = [];
      const freed = new Set<number>();
      let at = 0;
      for (let i = 0; i < 12; i++) {
        at += Math.floor(random() * 6);
        const byteLength = 1 + Math.floor(random() * 40);
        if (random() < 0.5) freed.add(i);
        views.push({ buffer: 0, byteOffset: at, byteLength });
        // now and then the next view overlaps this one
        at += random() < 0.2 ? Math.floor(byteLength / 2) : byteLength;
      }
      const total = Math.max(...views.map((view) => view.byteOffset! + view.byteLength)) + 3;
      const source = Uint8Array.from({ length: total }, (_, i) => i * 7);
      const cuts = planCuts(makeJson(views, total), freed);
      const output = Buffer.concat(keepRanges(cuts, total).map(({ start, end }) => source.subarray(start, end)));
      const shift = makeShift(cuts);
      views.forEach((view, i) => {
        if (freed.has(i)) return;
        const moved = shift(view.byteOffset!);
        expect(moved % 4).toBe(view.byteOffset! % 4);
        const before = source.subarray(view.byteOffset!, view.byteOffset! + view.byteLength);
        expect(output.subarray(moved, moved + view.byteLength).equals(before)).toBe(true);
      });
    }
  });
});
