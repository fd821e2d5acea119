import { EXPECTED } from '../../core/texts/damage-texts.ts';
import { isKnownExtension } from '../document/extensions.ts';
import { type AnimationJson, type GltfJson, type MaterialJson, type NodeJson, VARIANTS } from '../document/json.ts';
import { dropTexture, listTextureUses, resetFactor, type TextureUse, texCoordOf } from '../document/read-material.ts';
import { localMatrix, type Matrix, multiply } from '../document/world-matrices.ts';
import { isObject, type Mender } from './mend-values.ts';

/**
 * Largest entry of a world matrix, in metres: about a light hour. Larger ones leave single precision once they are
 * multiplied by a coordinate.
 */
const REACH = 1e12;

const OWN = ['matrix', 'translation', 'rotation', 'scale'] as const;

/** Removes the transform of a node that is out of reach, by itself or together with its parents. */
export function mendTransforms(json: GltfJson, mender: Mender): GltfJson {
  const { nodes } = json;
  if (!Array.isArray(nodes)) return json;
  const mended = [...nodes];
  const seen = new Set<number>();
  const children = new Set(nodes.flatMap((node) => listChildren(node)));
  const open = nodes.flatMap((_, node) => (children.has(node) ? [] : [{ node, parent: null as Matrix | null }]));
  while (open.length > 0) {
    const { node: index, parent } = open.pop()!;
    const node = nodes[index];
    if (typeof node !== 'object' || node === null || seen.has(index)) continue;
    seen.add(index);
    // a model may have a million empty nodes
    const isPlain = OWN.every((key) => node[key] === undefined);
    let world = isPlain ? parent : parent ? multiply(parent, localMatrix(node)) : localMatrix(node);
    if (world && !world.every((entry) => Math.abs(entry) <= REACH)) {
      const [own] = OWN.filter((key) => node[key] !== undefined);
      mender.note('damaged-value', ['nodes', index, own ?? 'scale'], node[own ?? 'scale'], EXPECTED.transform);
      const { matrix: _, translation: __, rotation: ___, scale: ____, ...rest } = node;
      mended[index] = rest;
      world = parent;
    }
    for (const child of listChildren(node)) open.push({ node: child, parent: world });
  }
  return mended.some((node, i) => node !== nodes[i]) ? { ...json, nodes: mended } : json;
}

function listChildren(node: NodeJson | null): readonly number[] {
  return Array.isArray(node?.children) ? node.children : [];
}

/**
 * Removes maps that use a second or later UV set which none of their parts has: no viewer can show them. Where only the
 * texture transform names the set, the map uses its own instead.
 */
export function mendUvSets(json: GltfJson, mender: Mender): GltfJson {
  const { materials } = json;
  if (!Array.isArray(materials)) return json;
  const sets = listSets(json);
  const mended = materials.map((material, index) => {
    const own = sets.get(index);
    if (!own || typeof material !== 'object' || material === null) return material;
    const lacking = listTextureUses(material).filter(({ info }) => texCoordOf(info) > 0 && !own.has(texCoordOf(info)));
    if (lacking.length === 0) return material;
    const copy = structuredClone(material);
    for (const use of lacking) removeMap(copy, use, own, index, mender);
    return copy;
  });
  return mended.some((material, i) => material !== materials[i]) ? { ...json, materials: mended } : json;
}

function removeMap(copy: MaterialJson, use: TextureUse, own: ReadonlySet<number>, index: number, mender: Mender): void {
  const at = ['materials', index, ...use.use.split('.')];
  const copied = listTextureUses(copy).find((candidate) => candidate.use === use.use);
  const transform = copied?.info.extensions?.KHR_texture_transform;
  const base = use.info.texCoord ?? 0;
  if (transform?.texCoord !== undefined && (base === 0 || own.has(base))) {
    mender.note(
      'dangling-reference',
      [...at, 'extensions', 'KHR_texture_transform', 'texCoord'],
      transform.texCoord,
      EXPECTED.uvSet,
      base,
    );
    delete transform.texCoord;
    return;
  }
  mender.note('dangling-reference', [...at, 'texCoord'], texCoordOf(use.info), EXPECTED.uvSet);
  dropTexture(copy, use);
  resetFactor(copy, use.use);
}

/** UV sets by material, over all primitives that show it in any variant. */
function listSets({ meshes }: GltfJson): Map<number, Set<number>> {
  const sets = new Map<number, Set<number>>();
  for (const primitive of (Array.isArray(meshes) ? meshes : []).flatMap((mesh) => mesh?.primitives ?? [])) {
    const names = Object.keys(primitive?.attributes ?? {});
    const mappings = primitive?.extensions?.[VARIANTS]?.mappings;
    const inVariants = (Array.isArray(mappings) ? mappings : []).map((mapping) => mapping?.material);
    for (const material of [primitive?.material, ...inVariants]) {
      if (typeof material !== 'number') continue;
      const own = sets.get(material) ?? new Set();
      sets.set(material, own);
      for (const name of names) if (name.startsWith('TEXCOORD_')) own.add(Number(name.slice(9)));
    }
  }
  return sets;
}

type Sampler = NonNullable<AnimationJson['samplers']>[number];

/**
 * Removes channels that play nothing and samplers without times or values. An empty animation is removed too, which shifts
 * the indices after it; with an unknown extension, which may refer to animations, it stays.
 */
export function mendAnimations(json: GltfJson, mender: Mender): GltfJson {
  const { animations } = json;
  if (!Array.isArray(animations)) return json;
  const keepsPlaces = declaresUnknown(json);
  const left = animations.flatMap((animation: unknown, index) => {
    const noted = mender.damages.length;
    const mended = mendAnimation(json, isObject(animation) ? animation : {}, index, mender);
    if (mended.channels?.length) return [mended];
    const isNoted = mender.damages.length > noted || (keepsPlaces && mended === animation);
    if (!isNoted) {
      const seen = isObject(animation) ? animation.channels : animation;
      mender.note('damaged-animation', ['animations', index], seen, EXPECTED.channels);
    }
    return keepsPlaces ? [mended] : [];
  });
  if (left.length === animations.length && left.every((animation, i) => animation === animations[i])) return json;
  const { animations: _, ...rest } = json;
  return left.length > 0 ? { ...json, animations: left } : (rest as GltfJson);
}

function mendAnimation(json: GltfJson, animation: AnimationJson, index: number, mender: Mender): AnimationJson {
  const samplers: unknown[] = Array.isArray(animation.samplers) ? animation.samplers : [];
  const channels: unknown[] = Array.isArray(animation.channels) ? animation.channels : [];
  const isPlayable = (sampler: unknown): sampler is Sampler =>
    isObject(sampler) && isAccessor(json, sampler.input) && isAccessor(json, sampler.output);
  const places = new Map<number, number>();
  samplers.forEach((sampler, i) => {
    if (isPlayable(sampler)) places.set(i, places.size);
    else mender.note('damaged-animation', ['animations', index, 'samplers', i], sampler, EXPECTED.samplerData);
  });
  const isWhole =
    places.size === samplers.length && Array.isArray(animation.samplers) && Array.isArray(animation.channels);
  const left = channels.flatMap((channel, i) => {
    const { sampler } = channel as { sampler?: number };
    const place = places.get(sampler ?? -1);
    if (place !== undefined) return [place === sampler ? channel : { ...(channel as object), sampler: place }];
    mender.note('damaged-animation', ['animations', index, 'channels', i], sampler, EXPECTED.playableSampler);
    return [];
  });
  if (isWhole && left.length === channels.length) return animation;
  return {
    ...animation,
    samplers: samplers.filter(isPlayable),
    channels: left as NonNullable<AnimationJson['channels']>,
  };
}

function declaresUnknown({ extensionsUsed, extensionsRequired }: GltfJson): boolean {
  return [extensionsUsed, extensionsRequired].some(
    (names) => Array.isArray(names) && names.some((name) => !isKnownExtension(name)),
  );
}

function isAccessor({ accessors }: GltfJson, index: unknown): boolean {
  return Number.isInteger(index) && Array.isArray(accessors) && isObject(accessors[index as number]);
}
