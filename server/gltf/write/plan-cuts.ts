import { type GltfJson, MESHOPT } from '../document/json.ts';

/** Bytes of the source's BIN chunk, from `start` to before `end`. */
export interface ByteRange {
  readonly start: number;
  readonly end: number;
}

/**
 * Finds the ranges of the BIN chunk that only freed buffer views cover, and that can be left out. Their lengths are multiples
 * of four, so that every offset keeps its alignment (glTF 2.0 §3.6.2.4).
 */
export function planCuts(json: GltfJson, freedViews: ReadonlySet<number>): ByteRange[] {
  if (freedViews.size === 0) return [];
  const live: ByteRange[] = [];
  const freed: ByteRange[] = [];
  const add = (list: ByteRange[], range: { buffer?: number; byteOffset?: number; byteLength?: number }) => {
    if (range.buffer !== 0) return;
    const start = range.byteOffset ?? 0;
    list.push({ start, end: start + (range.byteLength ?? 0) });
  };
  json.bufferViews?.forEach((view, index) => {
    add(freedViews.has(index) ? freed : live, view);
    for (const name of MESHOPT) if (view.extensions?.[name]) add(live, view.extensions[name]);
  });
  const end = json.buffers?.[0]?.byteLength ?? 0;
  const liveRanges = joinRanges(live);
  let done = 0;
  return subtract(joinRanges(freed), liveRanges).flatMap(({ start, end: stop }) => {
    // the padding of one range may reach into the next freed one
    const from = Math.max(start, done);
    done = from + Math.max(0, Math.floor((withPadding(stop, liveRanges, end) - from) / 4) * 4);
    return done > from ? [{ start: from, end: done }] : [];
  });
}

/** Includes the padding of up to three bytes that follows, unless something reads it. */
function withPadding(stop: number, live: readonly ByteRange[], end: number): number {
  const padded = Math.min(Math.ceil(stop / 4) * 4, end);
  return live.some((range) => range.start < padded && range.end > stop) ? stop : padded;
}

/** Sorts ranges, and joins those that overlap or touch. */
function joinRanges(ranges: readonly ByteRange[]): ByteRange[] {
  const joined: { start: number; end: number }[] = [];
  for (const range of [...ranges].sort((a, b) => a.start - b.start)) {
    const last = joined[joined.length - 1];
    if (last && range.start <= last.end) last.end = Math.max(last.end, range.end);
    else joined.push({ ...range });
  }
  return joined;
}

/** The parts of `from` that no range of `minus` covers; both are sorted and joined. */
function subtract(from: readonly ByteRange[], minus: readonly ByteRange[]): ByteRange[] {
  const left: ByteRange[] = [];
  let m = 0;
  for (const { start, end } of from) {
    let at = start;
    while (m > 0 && minus[m - 1]!.end > start) m--;
    for (; m < minus.length && minus[m]!.start < end; m++) {
      if (minus[m]!.end <= at) continue;
      if (minus[m]!.start > at) left.push({ start: at, end: minus[m]!.start });
      at = Math.max(at, minus[m]!.end);
    }
    if (at < end) left.push({ start: at, end });
  }
  return left;
}

/** The ranges that stay, in order. */
export function keepRanges(cuts: readonly ByteRange[], length: number): ByteRange[] {
  const kept: ByteRange[] = [];
  let at = 0;
  for (const cut of cuts) {
    if (cut.start > at) kept.push({ start: at, end: cut.start });
    at = cut.end;
  }
  if (at < length) kept.push({ start: at, end: length });
  return kept;
}

/** Makes a function from an offset in the source to the offset of the same byte without the cuts. */
export function makeShift(cuts: readonly ByteRange[]): (offset: number) => number {
  const before: number[] = [0];
  for (const cut of cuts) before.push(before[before.length - 1]! + cut.end - cut.start);
  return (offset) => {
    let low = 0;
    let high = cuts.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (cuts[middle]!.end <= offset) low = middle + 1;
      else high = middle;
    }
    return offset - before[low]!;
  };
}

/** Moves every range of buffer 0, compressed ranges of meshopt included. */
export function moveViews(json: Pick<GltfJson, 'bufferViews'>, shift: (offset: number) => number): void {
  const move = (range: { buffer?: number; byteOffset?: number }) => {
    if (range.buffer !== 0 || !range.byteOffset) return;
    range.byteOffset = shift(range.byteOffset);
  };
  for (const view of json.bufferViews ?? []) {
    move(view);
    for (const name of MESHOPT) if (view.extensions?.[name]) move(view.extensions[name]);
  }
}
