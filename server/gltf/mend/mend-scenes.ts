import type { GltfJson } from '../document/json.ts';
import { listRoots } from '../document/world-matrices.ts';
import { isObject, type Mender } from './mend-values.ts';

/** A file that does not say what is to be shown says it then as viewers take it: the first scene, or all there is. */
export function mendScenes(json: GltfJson, mender: Mender): GltfJson {
  const { nodes, scenes, scene } = json;
  if (!Array.isArray(nodes) || nodes.length === 0 || !nodes.every(isObject)) return json;
  if (scenes === undefined || (Array.isArray(scenes) && scenes.length === 0)) {
    mender.note(
      'no-scene',
      ['scenes'],
      scenes,
      'a scene that lists what is to be shown',
      'every node that has no parent',
    );
    return { ...json, scene: 0, scenes: [{ nodes: listRoots(json) }] };
  }
  if (scene === undefined && Array.isArray(scenes) && scenes.length > 1) {
    mender.note(
      'no-scene',
      ['scene'],
      undefined,
      `which of the ${scenes.length} scenes is to be shown`,
      'the first scene',
    );
    return { ...json, scene: 0 };
  }
  return json;
}
