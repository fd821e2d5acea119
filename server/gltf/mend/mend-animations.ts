import { isKnownExtension } from '../document/extensions.ts';
import type { AnimationJson, GltfJson } from '../document/json.ts';
import { isObject, type Mender } from './mend-values.ts';

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
      mender.note('damaged-animation', ['animations', index], seen, 'channels to play');
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
    else mender.note('damaged-animation', ['animations', index, 'samplers', i], sampler, 'times and values to play');
  });
  const isWhole =
    places.size === samplers.length && Array.isArray(animation.samplers) && Array.isArray(animation.channels);
  const left = channels.flatMap((channel, i) => {
    const { sampler } = channel as { sampler?: number };
    const place = places.get(sampler ?? -1);
    if (place !== undefined) return [place === sampler ? channel : { ...(channel as object), sampler: place }];
    mender.note(
      'damaged-animation',
      ['animations', index, 'channels', i],
      sampler,
      'the index of a sampler that can be played',
    );
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
