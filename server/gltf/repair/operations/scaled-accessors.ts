import { TYPE_COMPONENTS } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { readFloats } from '../edit/read-floats.ts';

/**
 * Which numbers of an accessor are multiplied: all; the translation of 4 × 4 matrices (both of their spaces are scaled); or
 * all but the last row (only their target space is).
 */
export type ScaledPart = 'all' | 'translation' | 'rows';

/** Accessors multiplied by a factor. All are computed and checked before any is added, and each is added once. */
export class ScaledAccessors {
  readonly #edit: ModelEdit;
  readonly #model: LoadedModel;
  readonly #factor: number;
  readonly #values = new Map<string, Float32Array | null>();
  readonly #added = new Map<string, number>();

  constructor(edit: ModelEdit, model: LoadedModel, factor: number) {
    this.#edit = edit;
    this.#model = model;
    this.#factor = factor;
  }

  get count(): number {
    return this.#added.size;
  }

  /** Returns false when the accessor cannot be read, or a number is not finite before or after multiplication. */
  prepare(index: number, part: ScaledPart): boolean {
    const key = `${index} ${part}`;
    if (!this.#values.has(key)) this.#values.set(key, this.#multiply(index, part));
    return this.#values.get(key) !== null;
  }

  #multiply(index: number, part: ScaledPart): Float32Array | null {
    const source = readFloats(this.#model, index);
    if (!source) return null;
    const values = source.slice();
    for (let i = 0; i < values.length; i++) {
      const at = i % 16;
      if (part === 'all' || (part === 'translation' ? at > 11 && at < 15 : at % 4 !== 3)) values[i]! *= this.#factor;
      if (!Number.isFinite(values[i])) return null;
    }
    return values;
  }

  /** Index of a prepared accessor after multiplication. @param isVertex a vertex attribute, or its delta */
  use(index: number, part: ScaledPart, isVertex = false): number {
    const key = `${index} ${part} ${isVertex}`;
    const known = this.#added.get(key);
    if (known !== undefined) return known;
    const { type, count } = this.#edit.json.accessors![index]!;
    // an empty accessor, which is not valid, stays as it is
    if (count === 0) return index;
    const values = this.#values.get(`${index} ${part}`)!;
    const added = this.#edit.addAccessor(values, type, isVertex ? { target: ARRAY_BUFFER, bounds: true } : {});
    this.#added.set(key, added);
    return added;
  }

  /** Adds pure scale matrices, for a skin without bind matrices. */
  addMatrices(count: number): number {
    const values = new Float32Array(count * TYPE_COMPONENTS.MAT4!);
    for (let i = 0; i < values.length; i++) values[i] = i % 16 === 15 ? 1 : (i % 16) % 5 === 0 ? this.#factor : 0;
    return this.#edit.addAccessor(values, 'MAT4');
  }
}
