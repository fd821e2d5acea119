import { type GltfJson, type NodeJson, TYPE_COMPONENTS } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { listMaterialsOf } from '../../document/read-material.ts';
import { ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { isPlainMesh, readFloats } from '../edit/read-geometry.ts';

export interface Scaled {
  /** Meshes whose positions were multiplied. */
  readonly meshes: number;
  /** Nodes that got the factor instead, since their mesh is quantised or compressed. */
  readonly nodes: number;
}

/**
 * Multiplies every length of a model, so that only its size changes: positions with their deltas, translations and their
 * animations, bind matrices, instances, volumes, ranges of lights, cameras. Node scales stay the same, except for nodes of
 * quantised or compressed meshes: those get the factor, so that their mesh need not be unpacked.
 * @returns null, with nothing changed, when a number cannot be read or would not be finite
 */
export function scaleModel(edit: ModelEdit, model: LoadedModel, factor: number): Scaled | null {
  const { json } = edit;
  // meshes that earlier repairs emptied are still in the list
  const used = new Set((json.nodes ?? []).map(({ mesh }) => mesh));
  const isPlain = (json.meshes ?? []).map((_, mesh) => used.has(mesh) && isPlainMesh(edit, mesh));
  const accessors = new ScaledAccessors(edit, model, factor);
  const thick = listMaterialsOf(
    (json.meshes ?? []).flatMap(({ primitives }, mesh) => (isPlain[mesh] ? primitives : [])),
  );
  if (!prepareAll(json, accessors, isPlain, thick)) return null;

  const driven = listScaleDriven(json);
  const ownPackedSkin = makeSkins(edit, accessors, isPlain);
  scaleMeshes(json, accessors, isPlain);
  scaleAnimations(json, accessors, thick);
  scaleLengths(json, factor, thick);
  let nodes = 0;
  // nodes that the loop adds at the end are scaled already
  for (const [index, node] of [...(json.nodes ?? [])].entries()) {
    if (node.translation) node.translation = node.translation.map((value) => value * factor);
    if (node.matrix) node.matrix = node.matrix.map((value, at) => (at > 11 && at < 15 ? value * factor : value));
    if (node.mesh === undefined) continue;
    if (isPlain[node.mesh]) {
      const instances = instancesOf(json, index);
      if (instances) instances.TRANSLATION = accessors.use(instances.TRANSLATION!, 'all');
    } else if (node.skin !== undefined) {
      node.skin = ownPackedSkin(node.skin);
    } else {
      nodes++;
      scaleNode(json, index, factor, driven.has(index));
    }
  }
  return { meshes: isPlain.filter(Boolean).length, nodes };
}

function instancesOf(json: GltfJson, node: number): Record<string, number> | null {
  const attributes = json.nodes![node]!.extensions?.EXT_mesh_gpu_instancing?.attributes as
    | Record<string, number>
    | undefined;
  return json.accessors?.[attributes?.TRANSLATION ?? -1] ? attributes! : null;
}

function prepareAll(
  json: GltfJson,
  accessors: ScaledAccessors,
  isPlain: readonly boolean[],
  thick: ReadonlySet<number>,
): boolean {
  const positions = (json.meshes ?? []).flatMap(({ primitives }, mesh) =>
    isPlain[mesh] ? primitives.flatMap(({ attributes, targets = [] }) => [attributes, ...targets]) : [],
  );
  const outputs = (json.animations ?? []).flatMap(({ channels = [], samplers = [] }) =>
    channels.flatMap((channel) => (drivesLength(channel, thick) ? (samplers[channel.sampler]?.output ?? []) : [])),
  );
  const instances = (json.nodes ?? []).flatMap(({ mesh }, node) =>
    mesh !== undefined && isPlain[mesh] ? (instancesOf(json, node)?.TRANSLATION ?? []) : [],
  );
  const skins = listSkinParts(json, isPlain);
  return (
    positions.every(({ POSITION }) => POSITION === undefined || accessors.prepare(POSITION, 'all')) &&
    [...outputs, ...instances].every((index) => accessors.prepare(index, 'all')) &&
    skins.every(({ skin, part }) => {
      const matrices = json.skins![skin]!.inverseBindMatrices;
      return matrices === undefined || accessors.prepare(matrices, part);
    })
  );
}

/**
 * How the bind matrices of skins change: a matrix between two scaled spaces changes its translation, and a matrix from an
 * unscaled (packed) mesh changes all rows. A skin of meshes of both kinds is listed twice. An unused skin counts as plain.
 */
function listSkinParts(
  json: GltfJson,
  isPlain: readonly boolean[],
): { readonly skin: number; readonly part: 'translation' | 'rows' }[] {
  const packed = new Set<number>();
  const plain = new Set<number>();
  for (const { mesh, skin } of json.nodes ?? []) {
    if (mesh !== undefined && skin !== undefined) (isPlain[mesh] ? plain : packed).add(skin);
  }
  return (json.skins ?? []).flatMap((_, skin) => [
    ...(plain.has(skin) || !packed.has(skin) ? [{ skin, part: 'translation' as const }] : []),
    ...(packed.has(skin) ? [{ skin, part: 'rows' as const }] : []),
  ]);
}

/** Gives skins their new bind matrices. Returns a function that finds the skin for nodes of packed meshes. */
function makeSkins(
  { json }: ModelEdit,
  accessors: ScaledAccessors,
  isPlain: readonly boolean[],
): (skin: number) => number {
  const ofPacked = new Map<number, number>();
  const parts = listSkinParts(json, isPlain);
  const skins = json.skins ?? [];
  const sources = skins.map((skin) => ({ ...skin }));
  for (const { skin, part } of parts) {
    const source = sources[skin]!;
    const { inverseBindMatrices, joints = [] } = source;
    if (part === 'translation') {
      if (inverseBindMatrices !== undefined) {
        skins[skin]!.inverseBindMatrices = accessors.use(inverseBindMatrices, part);
      }
      continue;
    }
    const matrices =
      inverseBindMatrices === undefined
        ? accessors.addMatrices(joints.length)
        : accessors.use(inverseBindMatrices, part);
    const isAlsoPlain = parts.some((other) => other.skin === skin && other.part === 'translation');
    if (isAlsoPlain) ofPacked.set(skin, skins.push({ ...source, inverseBindMatrices: matrices }) - 1);
    else skins[skin]!.inverseBindMatrices = matrices;
  }
  return (skin) => ofPacked.get(skin) ?? skin;
}

function scaleMeshes(json: GltfJson, accessors: ScaledAccessors, isPlain: readonly boolean[]): void {
  json.meshes?.forEach(({ primitives }, mesh) => {
    if (!isPlain[mesh]) return;
    for (const { attributes, targets = [] } of primitives) {
      for (const set of [attributes, ...targets]) {
        if (set.POSITION !== undefined) set.POSITION = accessors.use(set.POSITION, 'all', true);
      }
    }
  });
}

/** Scales animated lengths. A sampler that also drives something else is copied. */
function scaleAnimations(json: GltfJson, accessors: ScaledAccessors, thick: ReadonlySet<number>): void {
  for (const { channels = [], samplers = [] } of json.animations ?? []) {
    const lengths = channels.filter((channel) => drivesLength(channel, thick));
    const others = new Set(channels.filter((channel) => !drivesLength(channel, thick)).map(({ sampler }) => sampler));
    for (const sampler of new Set(lengths.map((channel) => channel.sampler))) {
      const source = samplers[sampler];
      if (!source || typeof source.output !== 'number') continue;
      const output = accessors.use(source.output, 'all');
      if (!others.has(sampler)) {
        source.output = output;
        continue;
      }
      const twin = samplers.push({ ...source, output }) - 1;
      for (const channel of lengths) if (channel.sampler === sampler) channel.sampler = twin;
    }
  }
}

/**
 * Scales the mesh of a node by a transform: on the node itself, or on a new child where the node has children, is a joint, or
 * has an animated scale.
 * @param isDriven whether a skin or an animation uses the node's scale
 */
function scaleNode(json: GltfJson, index: number, factor: number, isDriven: boolean): void {
  const node = json.nodes![index]!;
  if (isDriven || (node.children ?? []).length > 0) {
    addScaledChild(json, index, factor);
  } else if (node.matrix) {
    node.matrix = node.matrix.map((value, at) => (at < 12 && at % 4 !== 3 ? value * factor : value));
  } else {
    node.scale = (node.scale ?? [1, 1, 1]).map((value) => value * factor);
  }
}

/** Moves the mesh, with its weights and instances, onto a node of its own. */
function addScaledChild(json: GltfJson, index: number, factor: number): void {
  const node = json.nodes![index]! as NodeJson & { weights?: number[] };
  const child: NodeJson & { weights?: number[] } = { mesh: node.mesh!, scale: [factor, factor, factor] };
  delete node.mesh;
  if (node.name !== undefined) child.name = node.name;
  if (node.weights) {
    child.weights = node.weights;
    delete node.weights;
  }
  const { EXT_mesh_gpu_instancing: instances, ...others } = node.extensions ?? {};
  if (instances) {
    child.extensions = { EXT_mesh_gpu_instancing: instances };
    if (Object.keys(others).length > 0) node.extensions = others;
    else delete node.extensions;
  }
  const added = json.nodes!.push(child) - 1;
  (node.children ??= []).push(added);
  retarget(json, index, added);
}

/** Redirects animations of weights to the new node of the mesh. */
function retarget(json: GltfJson, from: number, to: number): void {
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.node === from && target.path === 'weights') target.node = to;
      const driven = target?.extensions?.KHR_animation_pointer;
      if (typeof driven?.pointer === 'string' && driven.pointer.startsWith(`/nodes/${from}/weights`)) {
        driven.pointer = driven.pointer.replace(`/nodes/${from}/`, `/nodes/${to}/`);
      }
    }
  }
}

/** Nodes whose scale skins or animations use. */
function listScaleDriven(json: GltfJson): Set<number> {
  const driven = new Set<number>((json.skins ?? []).flatMap(({ joints = [] }) => joints));
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.path === 'scale' && typeof target.node === 'number') driven.add(target.node);
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/nodes\/(\d+)\/(scale|matrix)$/.exec(pointer) : null;
      if (match) driven.add(Number(match[1]));
    }
  }
  return driven;
}

/**
 * Which numbers of an accessor are multiplied: all; the translation of 4 × 4 matrices (both of their spaces are scaled); or
 * all but the last row (only their target space is).
 */
type ScaledPart = 'all' | 'translation' | 'rows';

/** Accessors multiplied by a factor. All are computed and checked before any is added, and each is added once. */
class ScaledAccessors {
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

/** Animation pointers that drive a length (`KHR_animation_pointer`); thickness depends on its material. */
const DRIVES_LENGTH =
  /^\/nodes\/\d+\/translation$|\/attenuationDistance$|\/lights\/\d+\/range$|^\/cameras\/\d+\/.+\/(znear|zfar|xmag|ymag)$/;
const DRIVES_THICKNESS = /^\/materials\/(\d+)\/extensions\/KHR_materials_volume\/thicknessFactor$/;

/** Real files leave out properties that the standard requires. */
type Channel = NonNullable<NonNullable<GltfJson['animations']>[number]['channels']>[number];

/** @param thick materials whose thickness is scaled */
function drivesLength({ target }: Channel, thick: ReadonlySet<number>): boolean {
  if (target?.path === 'translation') return true;
  const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
  if (typeof pointer !== 'string') return false;
  const thickness = DRIVES_THICKNESS.exec(pointer);
  return thickness ? thick.has(Number(thickness[1])) : DRIVES_LENGTH.test(pointer);
}

/**
 * Multiplies the lengths that a document states outside of geometry: volumes, ranges of lights, planes and sizes of cameras.
 * Thickness is in the space of the mesh, so it changes only on materials of meshes that are scaled.
 */
function scaleLengths(json: GltfJson, factor: number, thick: ReadonlySet<number>): void {
  const scale = (holder: unknown, key: string) => {
    const object = holder as Record<string, unknown> | null | undefined;
    if (typeof object?.[key] === 'number') object[key] = (object[key] as number) * factor;
  };
  json.materials?.forEach(({ extensions }, index) => {
    if (thick.has(index)) scale(extensions?.KHR_materials_volume, 'thicknessFactor');
    scale(extensions?.KHR_materials_volume, 'attenuationDistance');
  });
  const lights = json.extensions?.KHR_lights_punctual?.lights;
  if (Array.isArray(lights)) for (const light of lights) scale(light, 'range');
  for (const camera of (json.cameras ?? []) as Record<string, unknown>[]) {
    for (const key of ['znear', 'zfar', 'xmag', 'ymag']) {
      scale(camera.perspective, key);
      scale(camera.orthographic, key);
    }
  }
}
