/** Natural logarithms of the least and the greatest value told apart: 10⁻⁷ to 10⁷. */
const LEAST = Math.log(1e-7);
const GREATEST = Math.log(1e7);
/** Width of a class, half a per cent; each knows the mean of what is in it, so that what is alike is told to the last bit. */
const WIDTH = 0.005;
const CLASSES = Math.ceil((GREATEST - LEAST) / WIDTH);
/** Shares that differ by less are the same. */
const EVEN = 1e-9;

/** Quantiles by area of a positive quantity over the triangles of a material, without keeping the triangles. */
export class AreaQuantiles {
  readonly #weights = new Float64Array(CLASSES);
  readonly #sums = new Float64Array(CLASSES);
  #whole = 0;

  /** @param log natural logarithm of the quantity */
  add(log: number, area: number): void {
    const index = Math.min(CLASSES - 1, Math.max(0, Math.floor((log - LEAST) / WIDTH)));
    this.#weights[index]! += area;
    this.#sums[index]! += area * log;
    this.#whole += area;
  }

  get isEmpty(): boolean {
    return this.#whole === 0;
  }

  /**
   * The value that a share of the area is below, 0–1; where the share falls between two values, their geometric mean.
   */
  find(share: number): number {
    const wanted = share * this.#whole;
    const even = EVEN * this.#whole;
    let below = 0;
    let last: number | null = null;
    for (let index = 0; index < CLASSES; index++) {
      const weight = this.#weights[index]!;
      if (weight === 0) continue;
      const log = this.#sums[index]! / weight;
      if (last !== null) return Math.exp((last + log) / 2);
      below += weight;
      if (below > wanted + even) return Math.exp(log);
      if (below >= wanted - even) last = log;
    }
    return last === null ? Number.NaN : Math.exp(last);
  }

  /** Share of the area whose value is more than `factor` times off from one, either way. */
  shareBeyond(value: number, factor: number): number {
    const [middle, reach] = [Math.log(value), Math.log(factor)];
    let beyond = 0;
    for (let index = 0; index < CLASSES; index++) {
      const weight = this.#weights[index]!;
      if (weight > 0 && Math.abs(this.#sums[index]! / weight - middle) > reach) beyond += weight;
    }
    return this.#whole > 0 ? beyond / this.#whole : 0;
  }
}
