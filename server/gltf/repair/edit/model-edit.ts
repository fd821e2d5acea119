import { Problem } from '../../../core/problems.ts';
import type { MaterialReference } from '../../../core/repair/repair.ts';
import { labelMaterial } from '../../../core/texts/format-text.ts';
import { MODEL_PROBLEMS } from '../../../core/texts/problems/model.ts';
import { decodeGeometry } from '../../document/decode-geometry.ts';
import { isKnownExtension } from '../../document/extensions.ts';
import { COMPONENT_BYTES, type GltfJson, MESHOPT, readName, TYPE_COMPONENTS } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { readDataUri } from '../../document/stored-bytes.ts';
import { INDEXED, type Indexed, type IndexSets, listReferred } from '../../document/visit-references.ts';
import type { ByteRange } from '../../write/plan-cuts.ts';

/** The materials that a list of references names. */
interface PickedMaterials {
  /** Ascending, each once. */
  readonly materials: readonly number[];
  /** References to materials that the model does not have. */
  readonly missing: readonly MaterialReference[];
}

type Values = Float32Array | Uint32Array | Uint16Array | Uint8Array | Int16Array | Int8Array;

/**
 * A model under repair, held in memory. Repairs change `json`, a copy of the source's, in place, and add bytes. They never
 * write into `bin`. The writer leaves out what they free.
 */
export class ModelEdit {
  readonly json: GltfJson;
  readonly bin: Buffer | null;
  /** For every material the source material that it was or was made from; null for a new one. */
  readonly materialOrigins: (number | null)[];
  /**
   * When a preparation is replayed, any name means the model's only material, since exporters rename materials. The report
   * of the step states each such guess.
   */
  mayGuess = false;
  readonly guesses = new Set<MaterialReference>();
  /** Bytes of added views, by view. The writer decides their place in the BIN chunk. */
  readonly added = new Map<number, Buffer>();

  /** Ranges of `bin` whose views were removed or unpacked. The writer leaves out what no other view covers. */
  readonly freedRanges: ByteRange[] = [];

  /** Bytes of geometry that was unpacked: compressed size before, plain size after. */
  readonly unpacked = { before: 0, after: 0 };

  /**
   * The objects that were in use in the source, and how many objects it had; this shows which objects repairs freed.
   * Renumbered with the objects.
   */
  source: { readonly referred: IndexSets; readonly lengths: Readonly<Record<Indexed, number>> };

  /** Buffers that views of the source use. One that loses its last view is dropped. */
  readonly usedBuffers: ReadonlySet<number>;
  /** Whether an empty buffer 0 was inserted for added bytes; it is removed when nothing was added. */
  readonly madeRoom: boolean;

  constructor(json: GltfJson, bin: Buffer | null) {
    this.json = json;
    const buffers = json.buffers?.length ?? 0;
    this.bin = bin ?? takeFirstBuffer(json);
    this.madeRoom = (json.buffers?.length ?? 0) > buffers;
    this.usedBuffers = listUsedBuffers(json);
    this.materialOrigins = (json.materials ?? []).map((_, index) => index);
    const lengths = Object.fromEntries(
      INDEXED.map((array) => [array, (json[array] as unknown[] | undefined)?.length ?? 0]),
    ) as Record<Indexed, number>;
    this.source = { referred: listReferred(json), lengths };
  }

  /** An unknown extension may refer to any object, so that objects cannot be renumbered. */
  get mayRenumber(): boolean {
    return (this.json.extensionsUsed ?? []).every(isKnownExtension);
  }

  /** Returns a function that undoes a repair which fails half-way. */
  takeSnapshot(): () => void {
    const text = JSON.stringify(this.json);
    const [added, freed, origins] = [[...this.added], this.freedRanges.length, [...this.materialOrigins]];
    const { source } = this;
    const unpacked = { ...this.unpacked };
    return () => {
      for (const key of Object.keys(this.json)) delete this.json[key];
      Object.assign(this.json, JSON.parse(text));
      this.added.clear();
      for (const [view, bytes] of added) this.added.set(view, bytes);
      this.freedRanges.length = freed;
      this.materialOrigins.splice(0, this.materialOrigins.length, ...origins);
      this.source = source;
      Object.assign(this.unpacked, unpacked);
    };
  }

  /** For `readAccessor` and `readIndices`, which then find added views too. */
  get loaded(): LoadedModel {
    return { json: this.json, bin: this.bin, views: this.added };
  }

  /** The model with its compressed geometry unpacked, for reading only. */
  async decode(): Promise<LoadedModel> {
    const { json, bin, added } = this;
    const { views = [], arrays } = await decodeGeometry({ json, bin }, 'all');
    return { json, bin, views: new Map([...added, ...views]), arrays };
  }

  /** Adds a view of buffer 0 that holds these bytes. */
  addView(bytes: Uint8Array, more: { readonly target?: number; readonly byteStride?: number } = {}): number {
    const index = (this.json.bufferViews ??= []).push({ buffer: 0, byteLength: bytes.byteLength, ...more }) - 1;
    this.added.set(index, Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
    return index;
  }

  /**
   * Adds an accessor with a view of its own. The caller pads elements of vertex attributes to multiples of four bytes.
   * @param bounds whether to state `min` and `max`, which glTF requires for `POSITION`
   */
  addAccessor(
    values: Values,
    type: string,
    { target, normalized, bounds = false }: { target?: number; normalized?: boolean; bounds?: boolean } = {},
  ): number {
    const componentType = componentTypeOf(values);
    const components = TYPE_COMPONENTS[type]!;
    const bytes = new Uint8Array(values.buffer, values.byteOffset, values.byteLength);
    const bufferView = this.addView(bytes, target === undefined ? {} : { target });
    return (
      (this.json.accessors ??= []).push({
        bufferView,
        componentType,
        count: values.length / components,
        type,
        ...(normalized ? { normalized } : {}),
        ...(bounds ? findBounds(values, components) : {}),
      }) - 1
    );
  }

  addImage(bytes: Uint8Array, mimeType: string, name?: string): number {
    const image = { bufferView: this.addView(bytes), mimeType, ...(name ? { name } : {}) };
    return (this.json.images ??= []).push(image) - 1;
  }

  /** Adds a material. @param origin the material of this edit, not of the source, that it was made from; null if new */
  addMaterial(material: NonNullable<GltfJson['materials']>[number], origin: number | null): number {
    this.materialOrigins.push(origin === null ? null : (this.materialOrigins[origin] ?? null));
    return (this.json.materials ??= []).push(material) - 1;
  }

  /** Indices of the materials that a reference names: all with that name, or the one at its pointer. */
  findMaterials(reference: MaterialReference): number[] {
    const materials = this.json.materials ?? [];
    const pointer = /^\/materials\/(\d+)$/.exec(reference);
    if (pointer) return Number(pointer[1]) < materials.length ? [Number(pointer[1])] : [];
    const named = materials.flatMap((material, index) => (material.name === reference ? [index] : []));
    if (named.length > 0 || !this.mayGuess || materials.length !== 1) return named;
    this.guesses.add(reference);
    return [0];
  }

  /** Finds the materials that references name. */
  pickMaterials(references: readonly MaterialReference[]): PickedMaterials {
    const materials = new Set<number>();
    const missing: MaterialReference[] = [];
    for (const reference of references) {
      const found = this.findMaterials(reference);
      if (found.length === 0) missing.push(reference);
      for (const index of found) materials.add(index);
    }
    return { materials: [...materials].sort((a, b) => a - b), missing };
  }

  /** Materials as messages name them: “Oak”, or unnamed material 3. @param materials all when left out */
  labelMaterials(materials: Iterable<number> = (this.json.materials ?? []).keys()): string[] {
    return [...materials].map((index) => labelMaterial({ name: readName(this.json.materials![index]!.name), index }));
  }
}

/**
 * Added bytes go into buffer 0, the BIN chunk. A model without a BIN chunk has its first buffer in a data URI, which is
 * read, or only a placeholder for meshopt, in front of which an empty buffer is inserted.
 * @throws Problem `model-truncated`
 */
function takeFirstBuffer(json: GltfJson): Buffer | null {
  const first = json.buffers?.[0];
  if (!first) return null;
  const bytes = first.uri === undefined ? null : readDataUri(first.uri);
  if (bytes) {
    delete first.uri;
    if (bytes.length < first.byteLength) {
      throw new Problem('model-truncated', {
        detail: MODEL_PROBLEMS['model-truncated'].dataUri(first.byteLength, bytes.length),
        expected: first.byteLength,
        received: bytes.length,
        where: '/buffers/0',
      });
    }
    return bytes.subarray(0, first.byteLength);
  }
  json.buffers!.unshift({ byteLength: 0 });
  for (const view of json.bufferViews ?? []) {
    view.buffer++;
    for (const name of MESHOPT) {
      const extension = view.extensions?.[name] as { buffer: number } | undefined;
      if (extension) extension.buffer++;
    }
  }
  return null;
}

/** Buffers that views use, compressed ranges of meshopt included. */
export function listUsedBuffers({ bufferViews = [] }: GltfJson): Set<number> {
  return new Set(
    bufferViews.flatMap((view) => [
      view.buffer,
      ...MESHOPT.flatMap((name) => (view.extensions?.[name] ? [view.extensions[name].buffer as number] : [])),
    ]),
  );
}

export const ARRAY_BUFFER = 34962;
export const ELEMENT_ARRAY_BUFFER = 34963;

function componentTypeOf(values: Values): number {
  if (values instanceof Float32Array) return 5126;
  if (values instanceof Uint32Array) return 5125;
  if (values instanceof Uint16Array) return 5123;
  if (values instanceof Int16Array) return 5122;
  return values instanceof Uint8Array ? 5121 : 5120;
}

/** `min` and `max` of an accessor: the least and greatest finite value of every component, 0 where there is none. */
export function findBounds(values: Values, components: number): { min: number[]; max: number[] } {
  const min = new Array<number>(components).fill(Infinity);
  const max = new Array<number>(components).fill(-Infinity);
  for (let i = 0; i < values.length; i++) {
    const c = i % components;
    const value = values[i]!;
    if (value < min[c]! && value > -Infinity) min[c] = value;
    if (value > max[c]! && value < Infinity) max[c] = value;
  }
  const finite = (value: number) => (Number.isFinite(value) ? value : 0);
  return { min: min.map(finite), max: max.map(finite) };
}

export const bytesPerElement = (componentType: number, type: string) =>
  COMPONENT_BYTES[componentType]! * TYPE_COMPONENTS[type]!;
