import type { Damage } from '../../core/product/survey.ts';
import { EXPECTED, USED } from '../../core/texts/damage-texts.ts';
import { type Container, readContainer } from '../document/container.ts';
import { isKnownExtension, listExtensionsInUse } from '../document/extensions.ts';
import type { GltfJson, MaterialJson, SkinJson, TextureJson } from '../document/json.ts';
import { listSources, resetFactors } from '../document/read-material.ts';
import { listRoots } from '../document/world-matrices.ts';
import { OBJECT_SCHEMAS, PRIMITIVE_SCHEMA, ROOT_SCHEMA, type Target } from './gltf-schema.ts';
import { mendAnimations, mendTransforms, mendUvSets } from './mend-structure.ts';
import { isObject, type JsonObject, Mender } from './mend-values.ts';

/** A model with its JSON corrected, and the corrections. The file stays as it is. */
export interface Model extends Container {
  readonly damages: readonly Damage[];
}

/**
 * Reads a stored model. All code reads models here, so that all of it sees the same corrections.
 * @throws Problem as `readContainer`
 */
export async function readModel(path: string): Promise<Model> {
  const container = await readContainer(path);
  return { ...container, ...mendJson(container.json) };
}

interface Mended {
  readonly json: GltfJson;
  readonly damages: readonly Damage[];
}

/** Objects come before those that refer to them: after an image without bytes, its texture has no image, and so on. */
const ORDER = [
  'images',
  'samplers',
  'textures',
  'materials',
  'accessors',
  'bufferViews',
  'buffers',
  'cameras',
  'meshes',
  'skins',
  'nodes',
  'animations',
  'scenes',
];

/**
 * Corrects the values of a document that glTF 2.0 does not allow, where the meaning is plain, and lists the corrections. Indices
 * do not shift, except those of animations: empty ones are removed (`mendAnimations`). Geometry and the tree of nodes stay, so
 * a model in which they are broken is still refused. Accepts any JSON object, and never throws.
 */
export function mendJson(read: GltfJson): Mended {
  let json = read as GltfJson & JsonObject;
  const mender = new Mender(read, (target, index) => isThere(json, target, index));
  json = mender.mendObject(json, ROOT_SCHEMA, []) as typeof json;
  for (const array of ORDER) {
    const list = json[array];
    if (!Array.isArray(list)) continue;
    const mended = list.map((item, i) => {
      if (!isObject(item)) return item;
      const object = mender.mendObject(item, OBJECT_SCHEMAS[array]!, [array, i]);
      // a material that lost a map is a copy, so the document itself stays
      if (array === 'materials') resetFactors(item as MaterialJson, object as MaterialJson);
      return object;
    });
    if (mended.some((item, i) => item !== list[i])) json = { ...json, [array]: mended };
  }
  json = mendPrimitives(json, mender);
  for (const mend of [mendTransforms, mendUvSets, mendAnimations, mendScenes, mendDeclared]) json = mend(json, mender);
  return { json, damages: mender.damages };
}

function mendPrimitives(json: GltfJson & JsonObject, mender: Mender): typeof json {
  const { meshes } = json;
  if (!Array.isArray(meshes)) return json;
  const mended = meshes.map((mesh: unknown, m) => {
    if (!isObject(mesh) || !Array.isArray(mesh.primitives)) return mesh;
    const primitives = mesh.primitives.map((primitive, p) =>
      isObject(primitive) ? mender.mendObject(primitive, PRIMITIVE_SCHEMA, ['meshes', m, 'primitives', p]) : primitive,
    );
    return primitives.some((item, p) => item !== (mesh.primitives as unknown[])[p]) ? { ...mesh, primitives } : mesh;
  });
  return mended.some((mesh, m) => mesh !== meshes[m]) ? { ...json, meshes: mended as GltfJson['meshes'] } : json;
}

/** Whether an index points at an object that its user can use. */
function isThere(json: GltfJson & JsonObject, target: Target, index: number): boolean {
  const item = listOf(json, target)?.[index];
  if (!isObject(item)) return false;
  switch (target) {
    case 'images':
      return item.bufferView !== undefined || item.uri !== undefined;
    case 'textures':
      return listSources(item as TextureJson).length > 0;
    case 'skins':
      return Array.isArray((item as SkinJson).joints) && (item as SkinJson).joints!.length > 0;
    case 'lights':
      return typeof item.type === 'string';
    default:
      return true;
  }
}

function listOf(json: GltfJson & JsonObject, target: Target): readonly unknown[] | null {
  const list =
    target === 'lights'
      ? json.extensions?.KHR_lights_punctual?.lights
      : target === 'variants'
        ? json.extensions?.KHR_materials_variants?.variants
        : json[target];
  return Array.isArray(list) ? list : null;
}

/** Adds the scene that viewers show if the file names none: the first one, or a scene of all nodes. */
function mendScenes(json: GltfJson, mender: Mender): GltfJson {
  const { nodes, scenes, scene } = json;
  if (!Array.isArray(nodes) || nodes.length === 0 || !nodes.every(isObject)) return json;
  if (scenes === undefined || (Array.isArray(scenes) && scenes.length === 0)) {
    mender.note('no-scene', ['scenes'], scenes, EXPECTED.scene, USED.allRoots);
    return { ...json, scene: 0, scenes: [{ nodes: listRoots(json) }] };
  }
  if (scene === undefined && Array.isArray(scenes) && scenes.length > 1) {
    mender.note('no-scene', ['scene'], undefined, EXPECTED.sceneChoice(scenes.length), USED.firstScene);
    return { ...json, scene: 0 };
  }
  return json;
}

/** Declares known extensions that the file uses without declaring them: viewers may ignore them otherwise. */
function mendDeclared(json: GltfJson, mender: Mender): GltfJson {
  const used = readNames(json.extensionsUsed);
  const required = readNames(json.extensionsRequired);
  if (used === null || required === null) return json;
  const inUse = [...listExtensionsInUse(json), ...Object.keys(json.extensions ?? {})].filter(isKnownExtension);
  const declared = new Set(used);
  const all = [...new Set([...used, ...required, ...inUse])];
  const missing = all.filter((name) => !declared.has(name));
  for (const name of missing) mender.note('undeclared-extension', ['extensionsUsed'], name, EXPECTED.declared, name);
  return missing.length > 0 ? { ...json, extensionsUsed: all } : json;
}

/** Null for anything but a list of names, which is refused later. */
function readNames(value: unknown): readonly string[] | null {
  if (value === undefined) return [];
  return Array.isArray(value) && value.every((name) => typeof name === 'string') ? value : null;
}
