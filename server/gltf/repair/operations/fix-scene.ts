import { REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { GltfJson } from '../../document/json.ts';
import { listParents } from '../../document/world-matrices.ts';
import { done, nothingToDo, type Repairer } from '../repairer.ts';

const OUTCOMES = REPAIR_OUTCOMES['fix-scene'];

/**
 * Puts scenes in order: they list only root nodes, each once, and one scene is the default (glTF 2.0 §3.5.1).
 * - A listed child whose parents are in the same scene is removed from the list, since it is drawn with them.
 * - A child whose parents are in no scene becomes a root, at the place where viewers that follow the list draw it.
 * - A child whose parents are in another scene cannot be in both places, so its root is listed instead.
 */
export const fixScene: Repairer<'fix-scene'> = {
  apply({ json }) {
    const listedTwice = dropTwice(json);
    const scenesMade = makeScene(json);
    const moved = fixLists(json);
    const emptyLists = dropEmpty(json);
    const defaultSet = json.scene === undefined && (json.scenes ?? []).length > 0 ? 1 : 0;
    if (defaultSet > 0) json.scene = 0;
    const figures = { ...moved, listedTwice, emptyLists, scenesMade, defaultSet };
    return Object.values(figures).every((n) => n === 0)
      ? nothingToDo(OUTCOMES.nothing)
      : done(OUTCOMES.done(figures), figures);
  },
};

interface Moved {
  /** Children removed from a list, since they are drawn with their parents. */
  readonly childrenDropped: number;
  /** Children that became roots. */
  readonly childrenSetFree: number;
  /** Roots listed instead of their children. */
  readonly rootsListed: number;
}

function fixLists(json: GltfJson): Moved {
  const parents = listParents(json);
  const isInAnyScene = includeDescendants(parents, new Set((json.scenes ?? []).flatMap(({ nodes = [] }) => nodes)));
  let [childrenDropped, childrenSetFree, rootsListed] = [0, 0, 0];
  for (const scene of json.scenes ?? []) {
    const given = scene.nodes ?? [];
    const listed = new Set(given);
    const isInScene = includeDescendants(parents, new Set(given));
    for (const node of given) {
      const parent = parents.get(node);
      if (parent === undefined) continue;
      if (isInScene(parent)) {
        listed.delete(node);
        childrenDropped++;
      } else if (isInAnyScene(parent)) {
        listed.delete(node);
        listed.add(findRoot(parents, node));
        rootsListed++;
      } else {
        json.nodes![parent]!.children = json.nodes![parent]!.children!.filter((child) => child !== node);
        parents.delete(node);
        childrenSetFree++;
      }
    }
    if (listed.size > 0) scene.nodes = [...listed];
  }
  return { childrenDropped, childrenSetFree, rootsListed };
}

/** Whether a node or one of its ancestors is in a list. No part of a chain is visited twice, since chains can be long. */
function includeDescendants(
  parents: ReadonlyMap<number, number>,
  list: ReadonlySet<number>,
): (node: number) => boolean {
  const known = new Map<number, boolean>();
  return (start) => {
    const path: number[] = [];
    let at: number | undefined = start;
    while (at !== undefined && !list.has(at) && !known.has(at)) {
      path.push(at);
      at = parents.get(at);
    }
    const held = at !== undefined && (list.has(at) || known.get(at)!);
    for (const node of path) known.set(node, held);
    return held;
  };
}

function findRoot(parents: ReadonlyMap<number, number>, node: number): number {
  let root = node;
  for (let at = parents.get(root); at !== undefined; at = parents.get(at)) root = at;
  return root;
}

function dropTwice({ scenes = [], nodes = [] }: GltfJson): number {
  let dropped = 0;
  const once = (list: number[]): number[] => {
    const kept = [...new Set(list)];
    dropped += list.length - kept.length;
    return kept;
  };
  for (const scene of scenes) if (scene.nodes) scene.nodes = once(scene.nodes);
  for (const node of nodes) if (node.children) node.children = once(node.children);
  return dropped;
}

/** Empty lists are not allowed (`minItems` 1 in the schemas of scenes and nodes). */
function dropEmpty({ scenes = [], nodes = [] }: GltfJson): number {
  let dropped = 0;
  for (const scene of scenes) {
    if (scene.nodes?.length !== 0) continue;
    delete scene.nodes;
    dropped++;
  }
  for (const node of nodes) {
    if (node.children?.length !== 0) continue;
    delete node.children;
    dropped++;
  }
  return dropped;
}

/** Viewers show a file without scenes differently or not at all, so it gets a scene of all root nodes. */
function makeScene(json: GltfJson): number {
  if ((json.scenes ?? []).length > 0 || !json.nodes?.some(({ mesh }) => mesh !== undefined)) return 0;
  const parents = listParents(json);
  json.scenes = [{ nodes: [...json.nodes.keys()].filter((node) => !parents.has(node)) }];
  return 1;
}
