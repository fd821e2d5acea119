import { Problem } from '../../../core/problems.ts';
import type { MaterialReference } from '../../../core/repair/repair.ts';
import { decodeGeometry } from '../../document/decode-geometry.ts';
import { isKnownExtension } from '../../document/extensions.ts';
import { readDataUri } from '../../document/image-bytes.ts';
import { COMPONENT_BYTES, type GltfJson, MESHOPT, TYPE_COMPONENTS } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { INDEXED, type Indexed } from '../../document/visit-references.ts';
import type { ByteRange } from '../../write/plan-cuts.ts';
import { type IndexSets, listReferred } from './freed-objects.ts';

type Values = Float32Array | Uint32Array | Uint16Array | Uint8Array | Int16Array | Int8Array;

/**
 * A model under repair, whole in memory. Repairs change `json` in place, which is a copy of the source's, and add bytes;
 * they never write into `bin`. What they free is left out when the model is written.
 */
export class ModelEdit {
  readonly json: GltfJson;
  readonly bin: Buffer | null;
  /** For every material the material of the source it was, or was made from; null for a new one. */
  readonly materialOrigins: (number | null)[];
  /**
   * While a preparation is made again: the only material of a model is meant by whatever name a step knew it under, since
   * exporters rename materials. What was guessed so is told with the step.
   */
  mayGuess = false;
  readonly guesses = new Set<MaterialReference>();
  /** Bytes of views that were added, by view; where they stand in the BIN chunk is settled when the model is written. */
  readonly added = new Map<number, Buffer>();

  /** Runs of `bin` whose views were taken out or unpacked; what no other view covers of them is left out when written. */
  readonly freedRanges: ByteRange[] = [];

  /** Bytes of geometry that was compressed in the source and had to be unpacked: what they were, and what they became. */
  readonly unpacked = { before: 0, after: 0 };

  /**
   * What was referred to in the source, and how many objects of it there are: by these it is told what repairs freed.
   * Renumbered with the objects.
   */
  source: { readonly referred: IndexSets; readonly lengths: Readonly<Record<Indexed, number>> };

  /** Buffers that views of the source stand in; one of them that ends up without any goes. */
  readonly usedBuffers: ReadonlySet<number>;
  /** Whether buffer 0 was put in to make room, and goes again when nothing was added. */
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

  /** With an extension nobody here knows, objects cannot be renumbered: it may refer to any of them. */
  get mayRenumber(): boolean {
    return (this.json.extensionsUsed ?? []).every(isKnownExtension);
  }

  /** What a repair that fails half-way is taken back by. */
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
   * Adds an accessor with a view of its own. Elements of vertex attributes that are not a multiple of four bytes are the
   * caller's to pad. Bounds are stated for `POSITION` (`bounds`).
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

  /** Adds a material made from another, or new (`origin` null). `origin` is an index of this edit, not of the source. */
  addMaterial(material: NonNullable<GltfJson['materials']>[number], origin: number | null): number {
    this.materialOrigins.push(origin === null ? null : (this.materialOrigins[origin] ?? null));
    return (this.json.materials ??= []).push(material) - 1;
  }

  /** Indices of the materials a reference means: all of that name, or the one its pointer names. */
  findMaterials(reference: MaterialReference): number[] {
    const materials = this.json.materials ?? [];
    const pointer = /^\/materials\/(\d+)$/.exec(reference);
    if (pointer) return Number(pointer[1]) < materials.length ? [Number(pointer[1])] : [];
    const named = materials.flatMap((material, index) => (material.name === reference ? [index] : []));
    if (named.length > 0 || !this.mayGuess || materials.length !== 1) return named;
    this.guesses.add(reference);
    return [0];
  }
}

/**
 * Added bytes go into buffer 0, the BIN chunk. A model without one has its first buffer in a data URI, which is read; or
 * none but an empty one that meshopt fills, which makes room.
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
        detail: `Buffer 0 says it has ${first.byteLength} bytes, and its data URI has ${bytes.length}. Export the model again.`,
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

/** Buffers that views read, the compressed ranges of meshopt among them. */
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

/** Least and greatest finite value of every component, as `min` and `max` of an accessor state them; 0 where there is none. */
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
