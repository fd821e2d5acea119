import type { RawLayer } from '../../server/core/ports/renderer.ts';
import { createArrays, type Layer } from './layer.ts';

/** Sorts the pixels of a layer as it was taken into wholly and partly covered ones, and leaves the empty rim away. */
export function cropLayer({ widthPx, heightPx, bytes }: RawLayer): Layer {
  const frame = { widthPx, heightPx };
  const levels = bytes.subarray(0, widthPx * heightPx * 4);
  const rests = bytes.subarray(widthPx * heightPx * 4);
  const box = { left: widthPx, top: heightPx, right: 0, bottom: 0 };
  let count = 0;
  for (let y = 0, at = 3; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++, at += 4) {
      if (levels[at] === 0 && rests[at] === 0) continue;
      if (levels[at] !== 255) count++;
      if (x < box.left) box.left = x;
      if (x >= box.right) box.right = x + 1;
      if (y < box.top) box.top = y;
      box.bottom = y + 1;
    }
  }
  if (box.bottom === 0) return { frame, left: 0, top: 0, widthPx: 0, heightPx: 0, ...createArrays(0, 0, 0) };
  const [width, height] = [box.right - box.left, box.bottom - box.top];
  const arrays = createArrays(width * height, height, count);
  const wholeBytes = new Uint8Array(arrays.whole.buffer);
  let next = 0;
  for (let y = 0; y < height; y++) {
    let from = ((y + box.top) * widthPx + box.left) * 4;
    for (let x = 0; x < width; x++, from += 4) {
      if (levels[from + 3] === 255) {
        wholeBytes.set(levels.subarray(from, from + 4), (y * width + x) * 4);
      } else if (levels[from + 3] !== 0 || rests[from + 3] !== 0) {
        for (let channel = 0; channel < 4; channel++) {
          arrays.parts[next * 4 + channel] = levels[from + channel]! * 256 + rests[from + channel]!;
        }
        arrays.at[next++] = x;
      }
    }
    arrays.rowEnds[y] = next;
  }
  return { frame, left: box.left, top: box.top, widthPx: width, heightPx: height, ...arrays };
}
