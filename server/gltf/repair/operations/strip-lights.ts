import type { GltfJson } from '../../document/json.ts';

const LIGHTS = 'KHR_lights_punctual';
const POINTER = /^\/extensions\/KHR_lights_punctual\/lights\/(\d+)(\/.*)?$/;

/**
 * Takes out lights that no node which stays refers to and no animation points at, and renumbers the others.
 * @returns how many went
 */
export function stripLights(json: GltfJson, nodes: ReadonlySet<number>): number {
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
  else drop(json, holders.length > 0);
  return lights.length - kept.length;
}

/** With its last light the extension goes, unless a node still carries it, if only with a number that means nothing. */
function drop(json: GltfJson, isHeld: boolean): void {
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
