/**
 * Adds objects to one of a document's arrays: first at the indices of objects that nothing refers to any more, in ascending
 * order, then at the end. The indices of all other objects stay the same.
 */
export class StableIndexArray<T extends object> {
  readonly #array: T[];
  readonly #free: number[];

  constructor(array: readonly T[] | undefined, isFree: (index: number) => boolean) {
    this.#array = [...(array ?? [])];
    this.#free = [...this.#array.keys()].filter(isFree);
  }

  add(value: T): number {
    const index = this.#free.shift() ?? this.#array.length;
    this.#array[index] = value;
    return index;
  }

  /**
   * The finished array. Free indices at its end are dropped; others get a placeholder.
   * @returns undefined for an empty array, which glTF does not allow
   */
  finish(placeholder: () => T): T[] | undefined {
    const free = new Set(this.#free);
    while (this.#array.length > 0 && free.has(this.#array.length - 1)) this.#array.pop();
    for (const index of free) if (index < this.#array.length) this.#array[index] = placeholder();
    return this.#array.length > 0 ? this.#array : undefined;
  }
}
