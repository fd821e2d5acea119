/** Texels along a side: a coverage is told to about a tenth of a percent. */
export const GRID_SIDE = 512;
/**
 * Texels looked at for one material. Whole repeats drawn ten thousand times over would take minutes to count and say
 * nothing new; what comes after is left out of coverage and overlap.
 */
const LOOK_LIMIT = 100_000_000;
/** Texel middles that lie on an edge two triangles share belong to one of them only where the middle is a little off. */
const NUDGE = 1.0e-7;

/** The unit square of UVs as texels, each with how many triangles cover its middle. */
export class UvGrid {
  readonly #covered = new Uint8Array(GRID_SIDE * GRID_SIDE);
  #looks = 0;

  /** Counts a triangle, as far as it lies in the unit square. */
  add(ax: number, ay: number, bx: number, by: number, cx: number, cy: number): void {
    const left = Math.max(0, Math.ceil(Math.min(ax, bx, cx) * GRID_SIDE - 0.5));
    const right = Math.min(GRID_SIDE - 1, Math.floor(Math.max(ax, bx, cx) * GRID_SIDE - 0.5));
    const top = Math.max(0, Math.ceil(Math.min(ay, by, cy) * GRID_SIDE - 0.5));
    const bottom = Math.min(GRID_SIDE - 1, Math.floor(Math.max(ay, by, cy) * GRID_SIDE - 0.5));
    if (left > right || top > bottom) return;
    this.#looks += (right - left + 1) * (bottom - top + 1);
    if (this.#looks > LOOK_LIMIT) return;
    const turn = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax) < 0 ? -1 : 1;
    for (let y = top; y <= bottom; y++) {
      const v = (y + 0.5) / GRID_SIDE + NUDGE * 0.618;
      for (let x = left; x <= right; x++) {
        const u = (x + 0.5) / GRID_SIDE + NUDGE;
        if (((bx - ax) * (v - ay) - (by - ay) * (u - ax)) * turn < 0) continue;
        if (((cx - bx) * (v - by) - (cy - by) * (u - bx)) * turn < 0) continue;
        if (((ax - cx) * (v - cy) - (ay - cy) * (u - cx)) * turn < 0) continue;
        const at = y * GRID_SIDE + x;
        if (this.#covered[at]! < 2) this.#covered[at]!++;
      }
    }
  }

  /** Share of the square that is covered, and share of that which is covered more than once. */
  measure(): { readonly coverage: number; readonly overlap: number } {
    let once = 0;
    let more = 0;
    for (const count of this.#covered) {
      if (count > 0) once++;
      if (count > 1) more++;
    }
    return { coverage: once / this.#covered.length, overlap: once > 0 ? more / once : 0 };
  }
}
