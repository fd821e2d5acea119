import { type GltfJson, MESHOPT } from '../document/json.ts';

/** A run of bytes of the source's BIN chunk, `end` exclusive. */
export interface ByteRange {
  readonly start: number;
  readonly end: number;
}

/**
 * Which runs of the BIN chunk can be left out: those that only freed views cover.
 * Each run's length is a multiple of four, so every offset stays the same modulo four.
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
  const liveRuns = joinRanges(live);
  let done = 0;
  return subtract(joinRanges(freed), liveRuns).flatMap(({ start, end: stop }) => {
    // the padding of one run may reach into the next freed one
    const from = Math.max(start, done);
    done = from + Math.max(0, Math.floor((withPadding(stop, liveRuns, end) - from) / 4) * 4);
    return done > from ? [{ start: from, end: done }] : [];
  });
}

/** Padding of up to three bytes before the next live byte goes with the run. */
function withPadding(stop: number, live: readonly ByteRange[], end: number): number {
  const padded = Math.min(Math.ceil(stop / 4) * 4, end);
  return live.some((range) => range.start < padded && range.end > stop) ? stop : padded;
}

/** Sorted, joined runs. */
function joinRanges(ranges: readonly ByteRange[]): ByteRange[] {
  const joined: { start: number; end: number }[] = [];
  for (const range of [...ranges].sort((a, b) => a.start - b.start)) {
    const last = joined[joined.length - 1];
    if (last && range.start <= last.end) last.end = Math.max(last.end, range.end);
    else joined.push({ ...range });
  }
  return joined;
}

/** What of `from` no range of `minus` covers; both sorted and joined. */
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

/** The runs that stay, in order. */
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

/** Where an offset of the source stands once the cuts are left out. */
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
