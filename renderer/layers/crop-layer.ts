import type { RawLayer } from '../../server/core/ports/renderer.ts';
import { createArrays, type Layer } from './layer.ts';

/** Sorts the pixels of a layer as it was taken into wholly and partly covered ones, and leaves the empty rim away. */
export function cropLayer({ box: read, bytes, ...picture }: RawLayer): Layer {
  const frame = { widthPx: picture.widthPx, heightPx: picture.heightPx };
  const { widthPx, heightPx } = read;
  const levels = bytes.subarray(0, widthPx * heightPx * 4);
  const rests = bytes.subarray(widthPx * heightPx * 4);
  const box = { left: widthPx, top: heightPx, right: 0, bottom: 0 };
  let count = 0;
  let black = true;
  for (let y = 0, at = 3; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++, at += 4) {
      if (levels[at] === 0 && rests[at] === 0) continue;
      if (levels[at] === 255) black = false;
      else {
        count++;
        black &&= hasNoColour(levels, at) && hasNoColour(rests, at);
      }
      if (x < box.left) box.left = x;
      if (x >= box.right) box.right = x + 1;
      if (y < box.top) box.top = y;
      box.bottom = y + 1;
    }
  }
  if (box.bottom === 0) {
    const nothing = createArrays({ pixels: 0, rows: 0, count: 0, black });
    return { frame, left: 0, top: 0, widthPx: 0, heightPx: 0, black, ...nothing };
  }
  const [width, height] = [box.right - box.left, box.bottom - box.top];
  const arrays = createArrays({ pixels: black ? 0 : width * height, rows: height, count, black });
  const wholeBytes = new Uint8Array(arrays.whole.buffer);
  let next = 0;
  for (let y = 0; y < height; y++) {
    let from = ((y + box.top) * widthPx + box.left) * 4;
    for (let x = 0; x < width; x++, from += 4) {
      if (levels[from + 3] === 255) {
        wholeBytes.set(levels.subarray(from, from + 4), (y * width + x) * 4);
      } else if (levels[from + 3] !== 0 || rests[from + 3] !== 0) {
        for (let channel = black ? 3 : 0, to = next * (black ? 1 : 4); channel < 4; channel++, to++) {
          arrays.parts[to] = levels[from + channel]! * 256 + rests[from + channel]!;
        }
        arrays.at[next++] = x;
      }
    }
    arrays.rowEnds[y] = next;
  }
  return {
    frame,
    left: read.left + box.left,
    top: read.top + box.top,
    widthPx: width,
    heightPx: height,
    black,
    ...arrays,
  };
}

/** Whether red, green and blue before an alpha are 0. */
function hasNoColour(bytes: Uint8Array, alpha: number): boolean {
  return bytes[alpha - 1] === 0 && bytes[alpha - 2] === 0 && bytes[alpha - 3] === 0;
}
