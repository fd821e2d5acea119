/** Sets of whole numbers that are joined one after the other (union–find with halved paths; the lower number leads). */
export class DisjointSets {
  readonly #parents: Int32Array;

  constructor(count: number) {
    this.#parents = new Int32Array(count);
    for (let i = 0; i < count; i++) this.#parents[i] = i;
  }

  find(item: number): number {
    const parents = this.#parents;
    let at = item;
    for (;;) {
      const parent = parents[at]!;
      if (parent === at) return at;
      const above = parents[parent]!;
      parents[at] = above;
      at = above;
    }
  }

  join(a: number, b: number): void {
    // two of one set mostly hang from the same above
    if (this.#parents[a] === this.#parents[b]) return;
    const first = this.find(a);
    const second = this.find(b);
    if (first < second) this.#parents[second] = first;
    else if (second < first) this.#parents[first] = second;
  }

  /** The leader of every number, not to be written into, and true until more are joined. */
  listLeaders(): Int32Array {
    const parents = this.#parents;
    // who leads is lower, so that its own leader is known already
    for (let i = 0; i < parents.length; i++) parents[i] = parents[parents[i]!]!;
    return parents;
  }
}
