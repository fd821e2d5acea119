import { isKnownExtension } from './extensions.ts';
import { DRACO, type GltfJson, type PrimitiveJson, VARIANTS } from './json.ts';
import { listSources, listTextureUses } from './read-material.ts';
import { INDEXED, type Indexed } from './visit-references.ts';

/** Indices of the objects that scenes reach, by array. */
export type Reachable = Readonly<Record<Indexed, ReadonlySet<number>>>;

/**
 * Finds the objects that any scene of a document reaches: through nodes to meshes, skins and cameras; through primitives to
 * accessors, targets and materials, also those of variants; through materials to textures and images. Animation channels of
 * reached objects keep their accessors, and `KHR_animation_pointer` keeps its targets. A file without scenes is shown whole.
 * With an unknown extension, which may refer to any object, every object counts as reached.
 */
export function findReachable(json: GltfJson): Reachable {
  if ((json.extensionsUsed ?? []).some((name) => !isKnownExtension(name))) return everything(json);
  const reach = new Reach(json);
  const scenes = json.scenes ?? [];
  if (scenes.length === 0) for (const index of (json.nodes ?? []).keys()) reach.addNode(index);
  for (const { nodes = [] } of scenes) for (const index of nodes) reach.addNode(index);
  reach.addAnimations();
  reach.addTextures();
  return reach.sets;
}

function everything(json: GltfJson): Reachable {
  const all = (kind: Indexed) => new Set(((json[kind] as unknown[] | undefined) ?? []).keys());
  return Object.fromEntries(INDEXED.map((kind) => [kind, all(kind)])) as unknown as Reachable;
}

class Reach {
  readonly sets = Object.fromEntries(INDEXED.map((kind) => [kind, new Set()])) as unknown as Record<
    Indexed,
    Set<number>
  >;

  constructor(private readonly json: GltfJson) {}

  /** Adds a node and its descendants. Uses a list instead of recursion, since a chain may be a million nodes deep. */
  addNode(start: number): void {
    const { nodes } = this.sets;
    const open = [start];
    while (open.length > 0) {
      const index = open.pop()!;
      const node = this.json.nodes?.[index];
      if (!node || nodes.has(index)) continue;
      nodes.add(index);
      for (const child of node.children ?? []) open.push(child);
      if (node.mesh !== undefined) this.addMesh(node.mesh);
      if (node.camera !== undefined) this.sets.cameras.add(node.camera);
      const skin = node.skin === undefined ? undefined : this.json.skins?.[node.skin];
      if (skin && !this.sets.skins.has(node.skin!)) {
        this.sets.skins.add(node.skin!);
        this.addAccessor(skin.inverseBindMatrices);
        for (const joint of [...(skin.joints ?? []), ...(skin.skeleton === undefined ? [] : [skin.skeleton])]) {
          open.push(joint);
        }
      }
      const instances = node.extensions?.EXT_mesh_gpu_instancing?.attributes;
      for (const accessor of Object.values((instances as Record<string, number> | undefined) ?? {})) {
        this.addAccessor(accessor);
      }
    }
  }

  addMesh(index: number): void {
    if (!this.json.meshes?.[index] || this.sets.meshes.has(index)) return;
    this.sets.meshes.add(index);
    for (const primitive of this.json.meshes[index].primitives) this.#addPrimitive(primitive);
  }

  #addPrimitive({ attributes, indices, targets = [], material, extensions }: PrimitiveJson): void {
    for (const list of [attributes, ...targets]) for (const accessor of Object.values(list)) this.addAccessor(accessor);
    this.addAccessor(indices);
    this.addMaterial(material);
    const draco = extensions?.[DRACO]?.bufferView;
    if (typeof draco === 'number') this.sets.bufferViews.add(draco);
    const mappings = extensions?.[VARIANTS]?.mappings;
    if (Array.isArray(mappings)) for (const mapping of mappings) this.addMaterial(mapping?.material);
  }

  addMaterial(index: unknown): void {
    if (typeof index === 'number' && this.json.materials?.[index]) this.sets.materials.add(index);
  }

  addAccessor(index: number | undefined): void {
    const accessor = index === undefined ? undefined : this.json.accessors?.[index];
    if (!accessor || this.sets.accessors.has(index!)) return;
    this.sets.accessors.add(index!);
    const { bufferView, sparse } = accessor;
    for (const view of [bufferView, sparse?.indices.bufferView, sparse?.values.bufferView]) {
      if (view !== undefined) this.sets.bufferViews.add(view);
    }
  }

  addAnimations(): void {
    for (const { channels = [], samplers = [] } of this.json.animations ?? []) {
      for (const { sampler, target } of channels) {
        const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
        if (typeof pointer === 'string') this.#addPointed(pointer);
        else if (target?.node === undefined || !this.sets.nodes.has(target.node)) continue;
        this.addAccessor(samplers[sampler]?.input);
        this.addAccessor(samplers[sampler]?.output);
      }
    }
  }

  #addPointed(pointer: string): void {
    const [, kind, digits] = /^\/(nodes|meshes|materials|cameras)\/(\d+)(?:\/|$)/.exec(pointer) ?? [];
    const index = Number(digits);
    if (kind === 'nodes') this.addNode(index);
    if (kind === 'meshes') this.addMesh(index);
    if (kind === 'materials') this.addMaterial(index);
    if (kind === 'cameras') this.sets.cameras.add(index);
  }

  addTextures(): void {
    const { materials, textures, images, samplers, bufferViews } = this.sets;
    for (const index of materials) {
      for (const { info } of listTextureUses(this.json.materials![index]!)) textures.add(info.index);
    }
    for (const index of textures) {
      const texture = this.json.textures?.[index] ?? {};
      for (const image of listSources(texture)) images.add(image);
      if (texture.sampler !== undefined) samplers.add(texture.sampler);
    }
    for (const index of images) {
      const view = this.json.images?.[index]?.bufferView;
      if (view !== undefined) bufferViews.add(view);
    }
  }
}
