import { count, listNames, sayBytes } from '../../core/product/say.ts';
import { isKnownExtension, isSurfaceExtension } from '../extensions.ts';
import type { GltfJson } from '../json.ts';
import { collectNames } from '../splice/declare-extensions.ts';
import { findReachable, type Reachable } from '../survey/find-reachable.ts';
import { measureWeight } from '../survey/measure-weight.ts';
import type { ModelEdit } from './model-edit.ts';
import { makeSets, removeObjects } from './remove-objects.ts';
import { done, nothingToDo, type Repairer, unfit } from './repairer.ts';
import { INDEXED, type Indexed } from './visit-references.ts';

/** In words, one and many. */
const WORDS: Readonly<Record<Indexed, readonly [string, string]>> = {
  nodes: ['node', 'nodes'],
  meshes: ['mesh', 'meshes'],
  materials: ['material', 'materials'],
  textures: ['texture', 'textures'],
  images: ['image', 'images'],
  samplers: ['sampler', 'samplers'],
  accessors: ['accessor', 'accessors'],
  bufferViews: ['buffer view', 'buffer views'],
  skins: ['skin', 'skins'],
  cameras: ['camera', 'cameras'],
};

/**
 * Takes out what no scene leads to, by the survey's own measure of it (`findReachable`), and bytes that nothing reads.
 * Channels of animations that move nothing which stays go too, and animations that are left without any.
 */
export const stripUnused: Repairer<'strip-unused'> = {
  apply(edit) {
    const { json, bin } = edit;
    const unknown = (json.extensionsUsed ?? []).filter((name) => !isKnownExtension(name));
    if (unknown.length > 0) {
      return unfit(
        `The model uses ${listNames(unknown)}, which may refer to anything in it, so nothing can be told to be unused.`,
      );
    }
    const reachable = findReachable(json);
    const remove = makeSets();
    const told: string[] = [];
    const figures: Record<string, number> = {};
    for (const array of INDEXED) {
      const length = (json[array] as unknown[] | undefined)?.length ?? 0;
      for (let index = 0; index < length; index++) if (!reachable[array].has(index)) remove[array].add(index);
      figures[array] = remove[array].size;
      if (remove[array].size > 0) told.push(count(remove[array].size, ...WORDS[array]));
    }
    const bytes = measureUnread(edit, reachable);
    const channels = stripAnimations(json, reachable);
    if (channels > 0) told.push(count(channels, 'channel of animations', 'channels of animations'));
    if (told.length === 0 && bytes === 0) return nothingToDo('Everything in the file is used.');
    removeObjects(edit, remove);
    undeclare(json);
    if (bin) edit.freedRanges.push({ start: 0, end: bin.length });
    const objects = INDEXED.reduce((sum, array) => sum + remove[array].size, 0);
    return done(
      `${told.length > 0 ? `Unused, and out of the file now: ${told.join(', ')}` : 'No object was unused'}; ` +
        `${bytes > 0 ? `${sayBytes(bytes)} that nothing read` : 'no bytes'} went with them.`,
      { objects, ...figures, channels, bytes },
    );
  },
};

/** Bytes of the BIN chunk, and of what repairs added, that nothing in use reads. */
function measureUnread({ json, bin, added }: ModelEdit, reachable: Reachable): number {
  const inSource: GltfJson = {
    ...json,
    bufferViews: (json.bufferViews ?? []).map((view, index) =>
      added.has(index) ? { buffer: -1, byteLength: 0 } : view,
    ),
  };
  const { unreadBytes } = measureWeight(
    { json: inSource, jsonBytes: 0, bin: bin && { offset: 0, length: bin.length } },
    reachable,
    [],
  );
  return [...added].reduce(
    (sum, [view, { length }]) => (reachable.bufferViews.has(view) ? sum : sum + length),
    unreadBytes,
  );
}

/** Takes out channels that move nothing which stays, with the samplers only they had. */
function stripAnimations(json: GltfJson, { nodes }: Reachable): number {
  let removed = 0;
  for (const animation of json.animations ?? []) {
    const { channels = [], samplers = [] } = animation;
    // pointers keep what they point at
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

/** Extensions of materials and textures that went with what used them are no longer declared. */
function undeclare(json: GltfJson): void {
  const inUse = collectNames(json);
  for (const key of ['extensionsUsed', 'extensionsRequired'] as const) {
    const names = json[key]?.filter((name) => !isSurfaceExtension(name) || inUse.has(name) || json.extensions?.[name]);
    if (!names) continue;
    if (names.length > 0) json[key] = names;
    else delete json[key];
  }
}
