/** Texels along a side: a coverage is told to a few tenths of a percent. */
export const GRID_SIDE = 256;
/**
 * Texels written for one material. Whole repeats drawn ten thousand times over would take minutes to count and say
 * nothing new; what comes after is left out of coverage and overlap.
 */
const WRITE_LIMIT = 200_000_000;
/** Shifts rows off the round figures UVs are laid at, by far less than any texel. */
const NUDGE = 1e-7;

/** The unit square of UVs as texels, each with how many triangles cover its middle. */
export class UvGrid {
  readonly #covered = new Uint8Array(GRID_SIDE * GRID_SIDE);
  #written = 0;

  /**
   * Counts a triangle, as far as it lies in the unit square: row by row from where one edge crosses the middle of the row
   * to where another does. An edge is always walked from its lower end, so that the two triangles beside it round alike and no
   * texel falls between them or to both.
   */
  add(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): void {
    // in texels, whole numbers at their middles
    let x0 = ax * GRID_SIDE - 0.5;
    let y0 = ay * GRID_SIDE - 0.5 + NUDGE;
    let x1 = bx * GRID_SIDE - 0.5;
    let y1 = by * GRID_SIDE - 0.5 + NUDGE;
    let x2 = cx * GRID_SIDE - 0.5;
    let y2 = cy * GRID_SIDE - 0.5 + NUDGE;
    let swap: number;
    if (y1 < y0) {
      swap = x0;
      x0 = x1;
      x1 = swap;
      swap = y0;
      y0 = y1;
      y1 = swap;
    }
    if (y2 < y1) {
      swap = x1;
      x1 = x2;
      x2 = swap;
      swap = y1;
      y1 = y2;
      y2 = swap;
      if (y1 < y0) {
        swap = x0;
        x0 = x1;
        x1 = swap;
        swap = y0;
        y0 = y1;
        y1 = swap;
      }
    }
    const top = Math.max(0, Math.ceil(y0));
    const bottom = Math.min(GRID_SIDE - 1, Math.ceil(y2) - 1);
    if (top > bottom) return;
    const long = (x2 - x0) / (y2 - y0);
    const upper = (x1 - x0) / (y1 - y0);
    const lower = (x2 - x1) / (y2 - y1);
    const covered = this.#covered;
    for (let y = top; y <= bottom; y++) {
      const p = x0 + (y - y0) * long;
      const q = y < y1 ? x0 + (y - y0) * upper : x1 + (y - y1) * lower;
      const from = Math.max(0, Math.ceil(Math.min(p, q)));
      const to = Math.min(GRID_SIDE, Math.ceil(Math.max(p, q)));
      if (from >= to) continue;
      this.#written += to - from;
      if (this.#written > WRITE_LIMIT) return;
      for (let at = y * GRID_SIDE + from, end = y * GRID_SIDE + to; at < end; at++) {
        if (covered[at]! < 2) covered[at]!++;
      }
    }
  }

  /** Share of the square that is covered, and share of that which is covered more than once. */
  measure(): { readonly coverage: number; readonly overlap: number } {
    let once = 0;
    let more = 0;
    const covered = this.#covered;
    for (let at = 0; at < covered.length; at++) {
      if (covered[at]! > 0) once++;
      if (covered[at]! > 1) more++;
    }
    return { coverage: once / covered.length, overlap: once > 0 ? more / once : 0 };
  }
}
