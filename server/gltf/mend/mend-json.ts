import type { Damage } from '../../core/product/survey.ts';
import type { GltfJson, MaterialJson, SkinJson, TextureJson } from '../document/json.ts';
import { listSources, settleFactors } from '../document/texture-uses.ts';
import { OBJECTS, PRIMITIVE, ROOT } from './gltf-shapes.ts';
import { mendAnimations } from './mend-animations.ts';
import { mendDeclared } from './mend-declared.ts';
import { mendScenes } from './mend-scenes.ts';
import { mendTransforms } from './mend-transforms.ts';
import { mendUvSets } from './mend-uv-sets.ts';
import { isObject, type Loose, Mender } from './mend-values.ts';
import type { Target } from './shape.ts';

export interface Mended {
  readonly json: GltfJson;
  readonly damages: readonly Damage[];
}

/** What others point at comes before those that do: an image without bytes leaves its texture without one, and so on. */
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
 * Brings a document to what glTF 2.0 lets it hold, as far as that can be told, and says what was changed. Indices
 * never shift but those of animations, which nothing known names: ones left empty are taken out (`mendAnimations`).
 * Geometry and the tree of nodes are not touched, so that what is broken there is still refused afterwards.
 * Takes a document of any shape, and never throws.
 */
export function mendJson(read: GltfJson): Mended {
  let json = read as GltfJson & Loose;
  const mender = new Mender(read, (target, index) => isThere(json, target, index));
  json = mender.mendObject(json, ROOT, []) as typeof json;
  for (const array of ORDER) {
    const list = json[array];
    if (!Array.isArray(list)) continue;
    const mended = list.map((item, i) => {
      if (!isObject(item)) return item;
      const object = mender.mendObject(item, OBJECTS[array]!, [array, i]);
      // what a map was taken off is a copy, not the document's own
      if (array === 'materials') settleFactors(item as MaterialJson, object as MaterialJson);
      return object;
    });
    if (mended.some((item, i) => item !== list[i])) json = { ...json, [array]: mended };
  }
  json = mendPrimitives(json, mender);
  for (const mend of [mendTransforms, mendUvSets, mendAnimations, mendScenes, mendDeclared]) json = mend(json, mender);
  return { json, damages: mender.damages };
}

function mendPrimitives(json: GltfJson & Loose, mender: Mender): typeof json {
  const { meshes } = json;
  if (!Array.isArray(meshes)) return json;
  const mended = meshes.map((mesh: unknown, m) => {
    if (!isObject(mesh) || !Array.isArray(mesh.primitives)) return mesh;
    const primitives = mesh.primitives.map((primitive, p) =>
      isObject(primitive) ? mender.mendObject(primitive, PRIMITIVE, ['meshes', m, 'primitives', p]) : primitive,
    );
    return primitives.some((item, p) => item !== (mesh.primitives as unknown[])[p]) ? { ...mesh, primitives } : mesh;
  });
  return mended.some((mesh, m) => mesh !== meshes[m]) ? { ...json, meshes: mended as GltfJson['meshes'] } : json;
}

/** Whether an index points at something that is of use to whoever points at it. */
function isThere(json: GltfJson & Loose, target: Target, index: number): boolean {
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

function listOf(json: GltfJson & Loose, target: Target): readonly unknown[] | null {
  const list =
    target === 'lights'
      ? json.extensions?.KHR_lights_punctual?.lights
      : target === 'variants'
        ? json.extensions?.KHR_materials_variants?.variants
        : json[target];
  return Array.isArray(list) ? list : null;
}
