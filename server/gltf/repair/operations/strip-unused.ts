import { REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import {
  filterDeclared,
  isKnownExtension,
  isSurfaceExtension,
  listExtensionsInUse,
} from '../../document/extensions.ts';
import { findReachable, type Reachable } from '../../document/find-reachable.ts';
import type { GltfJson } from '../../document/json.ts';
import { countUnreadBytes } from '../../document/stored-bytes.ts';
import { INDEXED, makeIndexSets } from '../../document/visit-references.ts';
import { listFreed, removeObjects } from '../edit/freed-objects.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['strip-unused'];

/**
 * Removes objects that no scene reaches (`findReachable`, which the survey uses too), and bytes that nothing reads. Also
 * removes channels that animate only removed nodes, and animations without channels.
 */
export const stripUnused: Repairer<'strip-unused'> = {
  apply(edit) {
    const { json, bin } = edit;
    const unknown = (json.extensionsUsed ?? []).filter((name) => !isKnownExtension(name));
    if (unknown.length > 0) {
      return unfit(OUTCOMES.unknownExtension(unknown));
    }
    const reachable = findReachable(json);
    if (reachable.nodes.size === 0 && (json.nodes ?? []).length > 0) {
      return unfit(OUTCOMES.emptyScenes);
    }
    // objects that earlier repairs freed do not count here; the writer removes them
    const freed = listFreed(json, edit.source.referred, edit.source.lengths);
    const remove = makeIndexSets();
    const figures: Record<string, number> = {};
    let objects = 0;
    for (const array of INDEXED) {
      const length = (json[array] as unknown[] | undefined)?.length ?? 0;
      for (let index = 0; index < length; index++) if (!reachable[array].has(index)) remove[array].add(index);
      const found = [...remove[array]].filter((index) => !freed[array].has(index)).length;
      figures[array] = found;
      objects += found;
    }
    const bytes = measureUnread(edit, reachable, freed.bufferViews);
    const channels = stripAnimations(json, reachable);
    const lights = stripLights(json, reachable.nodes);
    if (objects + channels + lights + bytes === 0) return nothingToDo(OUTCOMES.nothing);
    removeObjects(edit, remove);
    undeclare(json);
    if (bin) edit.freedRanges.push({ start: 0, end: bin.length });
    return done(OUTCOMES.done(Object.entries({ ...figures, channels, lights }), bytes), {
      objects: objects + lights,
      ...figures,
      lights,
      channels,
      bytes,
    });
  },
};

/** Bytes of the BIN chunk and of added views that nothing reads, without those that earlier repairs freed. */
function measureUnread(
  { json, bin, added, freedRanges }: ModelEdit,
  reachable: Reachable,
  freed: ReadonlySet<number>,
): number {
  const nowhere = { buffer: -1, byteLength: 0 };
  const views = (json.bufferViews ?? []).map((view, index) => (added.has(index) ? nowhere : view));
  const ranges = freedRanges.map(({ start, end }) => ({ buffer: 0, byteOffset: start, byteLength: end - start }));
  const settled = [...reachable.bufferViews, ...freed, ...ranges.map((_, index) => views.length + index)];
  const unreadBytes = countUnreadBytes({ ...json, bufferViews: [...views, ...ranges] }, bin?.length ?? 0, settled);
  const unused = [...added].filter(([view]) => !reachable.bufferViews.has(view) && !freed.has(view));
  return unused.reduce((sum, [, { length }]) => sum + length, unreadBytes);
}

/** Removes channels whose node is removed, and the samplers that only they use. */
function stripAnimations(json: GltfJson, { nodes }: Reachable): number {
  let removed = 0;
  for (const animation of json.animations ?? []) {
    const { channels = [], samplers = [] } = animation;
    // objects at which pointers point are never removed
    const kept = channels.filter(
      ({ target }) =>
        target?.extensions?.KHR_animation_pointer || (target?.node !== undefined && nodes.has(target.node)),
    );
    const used = new Set(kept.map(({ sampler }) => sampler));
    if (kept.length === channels.length && samplers.every((_, index) => used.has(index))) continue;
    removed += channels.length - kept.length;
    const places = new Map([...samplers.keys()].filter((index) => used.has(index)).map((old, index) => [old, index]));
    for (const channel of kept) channel.sampler = places.get(channel.sampler) ?? channel.sampler;
    animation.channels = kept;
    animation.samplers = samplers.filter((_, index) => used.has(index));
  }
  const animations = json.animations?.filter(({ channels = [] }) => channels.length > 0);
  if (animations && animations.length > 0) json.animations = animations;
  else delete json.animations;
  return removed;
}

const LIGHTS = 'KHR_lights_punctual';
const POINTER = /^\/extensions\/KHR_lights_punctual\/lights\/(\d+)(\/.*)?$/;

/**
 * Removes lights to which no remaining node refers and no animation points, and renumbers the others.
 * @returns how many lights were removed
 */
function stripLights(json: GltfJson, nodes: ReadonlySet<number>): number {
  const lights = json.extensions?.[LIGHTS]?.lights;
  if (!Array.isArray(lights)) return 0;
  const holders = [...nodes].flatMap((node) => json.nodes![node]!.extensions?.[LIGHTS] ?? []) as { light?: unknown }[];
  const pointers = (json.animations ?? []).flatMap(({ channels = [] }) =>
    channels.flatMap(({ target }) => target?.extensions?.KHR_animation_pointer ?? []),
  ) as { pointer?: unknown }[];
  const pointed = ({ pointer }: { pointer?: unknown }) => (typeof pointer === 'string' ? POINTER.exec(pointer) : null);
  const used = new Set([...holders.map(({ light }) => light), ...pointers.map((one) => Number(pointed(one)?.[1]))]);
  const kept = [...lights.keys()].filter((index) => used.has(index));
  if (kept.length === lights.length) return 0;
  const numbers = new Map(kept.map((old, index) => [old, index]));
  for (const holder of holders) holder.light = numbers.get(holder.light as number) ?? holder.light;
  for (const one of pointers) {
    const [, old, rest = ''] = pointed(one) ?? [];
    if (old !== undefined) one.pointer = `/extensions/${LIGHTS}/lights/${numbers.get(Number(old)) ?? old}${rest}`;
  }
  if (kept.length > 0) json.extensions![LIGHTS]!.lights = kept.map((index) => lights[index]);
  else dropLights(json, holders.length > 0);
  return lights.length - kept.length;
}

/** Removes the extension with its last light, unless a node still has it with a broken reference. */
function dropLights(json: GltfJson, isHeld: boolean): void {
  delete json.extensions![LIGHTS];
  if (Object.keys(json.extensions!).length === 0) delete json.extensions;
  if (isHeld) return;
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    const names = json[key]?.filter((name) => name !== LIGHTS);
    if (!names) continue;
    if (names.length > 0) json[key] = names;
    else delete json[key];
  }
}

/** Removes extensions of materials and textures that nothing uses any more from the declared ones. */
function undeclare(json: GltfJson): void {
  const inUse = listExtensionsInUse(json);
  filterDeclared(json, (name) => !isSurfaceExtension(name) || inUse.has(name) || Boolean(json.extensions?.[name]));
}
