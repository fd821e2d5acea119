/**
 * Results of long work, each made once as long as it is kept. Asking twice at once makes one. The ones that were not used
 * for longest make room for others.
 */
export class KeptResults<Result> {
  readonly #limitBytes: number;
  readonly #sizeOf: (result: Result) => number;
  readonly #made = new Map<string, Promise<Result>>();
  readonly #sizes = new Map<string, number>();

  constructor(limitBytes: number, sizeOf: (result: Result) => number) {
    this.#limitBytes = limitBytes;
    this.#sizeOf = sizeOf;
  }

  /**
   * @param key all that determines the result
   * @param make is called when the result is not there; a failure is not kept
   */
  async take(key: string, make: () => Promise<Result>): Promise<Result> {
    let made = this.#made.get(key);
    // the last one used stands last
    if (made) this.#made.delete(key);
    else made = make();
    this.#made.set(key, made);
    try {
      const result = await made;
      this.#sizes.set(key, this.#sizeOf(result));
      return result;
    } catch (error) {
      this.#made.delete(key);
      throw error;
    } finally {
      this.#evict();
    }
  }

  #evict(): void {
    let bytes = [...this.#sizes.values()].reduce((sum, size) => sum + size, 0);
    for (const key of this.#made.keys()) {
      if (bytes <= this.#limitBytes) return;
      const size = this.#sizes.get(key);
      // one that is still being made has no size yet
      if (size === undefined) continue;
      this.#made.delete(key);
      this.#sizes.delete(key);
      bytes -= size;
    }
  }
}
