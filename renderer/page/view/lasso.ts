import type { ViewPlace } from './camera-moves.ts';

/** Share of a thing's visible pixels that a lasso must hold. */
const HELD_SHARE = 0.5;

/**
 * The things that a lasso holds: at least half of what is visible of each.
 * @param things of each pixel, plus one, rows from the bottom
 * @param line corners of the lasso, as shares from the left and from the top
 */
export function listInside(
  things: Uint32Array,
  widthPx: number,
  heightPx: number,
  line: readonly ViewPlace[],
): readonly number[] {
  const seen = new Map<number, { all: number; held: number }>();
  for (let row = 0; row < heightPx; row++) {
    const spans = listCrossings(line, 1 - (row + 0.5) / heightPx);
    for (let column = 0, next = 0, isInside = false; column < widthPx; column++) {
      const x = (column + 0.5) / widthPx;
      for (; next < spans.length && spans[next]! <= x; next++) isInside = !isInside;
      const thing = things[row * widthPx + column]!;
      if (thing === 0) continue;
      const count = seen.get(thing) ?? { all: 0, held: 0 };
      seen.set(thing, count);
      count.all++;
      if (isInside) count.held++;
    }
  }
  return [...seen].filter(([, { all, held }]) => held > 0 && held >= all * HELD_SHARE).map(([thing]) => thing - 1);
}

/** Where the closed line crosses a height, from left to right. Even and odd crossings enclose what is inside. */
export function listCrossings(line: readonly ViewPlace[], y: number): number[] {
  const crossings: number[] = [];
  line.forEach((from, at) => {
    const to = line[(at + 1) % line.length]!;
    if (from.y <= y === to.y <= y) return;
    crossings.push(from.x + ((y - from.y) / (to.y - from.y)) * (to.x - from.x));
  });
  return crossings.sort((a, b) => a - b);
}
