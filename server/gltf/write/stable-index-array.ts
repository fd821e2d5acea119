/**
 * Hands out indices for new objects of one of the document's arrays: first those of objects nothing refers to any more,
 * in ascending order, then new ones at the end. Indices of what stays never shift.
 */
export class IndexPool<T extends object> {
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

  set(index: number, value: T): void {
    this.#array[index] = value;
  }

  /**
   * The finished array: what is free at its end is dropped, what is free between others becomes a placeholder.
   * Undefined when nothing is left, since glTF has no empty arrays.
   */
  finish(placeholder: () => T): T[] | undefined {
    const free = new Set(this.#free);
    while (this.#array.length > 0 && free.has(this.#array.length - 1)) this.#array.pop();
    for (const index of free) if (index < this.#array.length) this.#array[index] = placeholder();
    return this.#array.length > 0 ? this.#array : undefined;
  }
}
