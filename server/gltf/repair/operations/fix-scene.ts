import { count } from '../../../core/texts/format-text.ts';
import type { GltfJson } from '../../document/json.ts';
import { listParents } from '../../document/world-matrices.ts';
import { done, nothingToDo, type Outcome, type Repairer } from '../repairer.ts';

/**
 * Brings scenes in order: they list root nodes only, each once, and one of them is the default (glTF 2.0 §3.5.1).
 * A listed child whose parents the scene holds too goes from the list, since it is drawn there anyway. One whose parents
 * no scene holds is set free of them and stands where viewers that go by the list have drawn it. Where another scene
 * holds its parents, a node cannot be in both places: its root is listed in its stead.
 */
export const fixScene: Repairer<'fix-scene'> = {
  apply({ json }) {
    const listedTwice = dropTwice(json);
    const scenesMade = makeScene(json);
    const moved = fixLists(json);
    const emptyLists = dropEmpty(json);
    const defaultSet = json.scene === undefined && (json.scenes ?? []).length > 0 ? 1 : 0;
    if (defaultSet > 0) json.scene = 0;
    return report({ ...moved, listedTwice, emptyLists, scenesMade, defaultSet });
  },
};

interface Moved {
  /** Children that were taken off a list: they are drawn with their parents. */
  readonly childrenDropped: number;
  /** Children that became roots. */
  readonly childrenSetFree: number;
  /** Children whose root is listed in their stead. */
  readonly rootsListed: number;
}

function fixLists(json: GltfJson): Moved {
  const parents = listParents(json);
  const heldByAny = makeHeld(parents, new Set((json.scenes ?? []).flatMap(({ nodes = [] }) => nodes)));
  let [childrenDropped, childrenSetFree, rootsListed] = [0, 0, 0];
  for (const scene of json.scenes ?? []) {
    const given = scene.nodes ?? [];
    const listed = new Set(given);
    const held = makeHeld(parents, new Set(given));
    for (const node of given) {
      const parent = parents.get(node);
      if (parent === undefined) continue;
      if (held(parent)) {
        listed.delete(node);
        childrenDropped++;
      } else if (heldByAny(parent)) {
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

/** Whether a node or one above it is in a list; no stretch of a chain is walked twice, since chains can be long. */
function makeHeld(parents: ReadonlyMap<number, number>, list: ReadonlySet<number>): (node: number) => boolean {
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

/** A file without scenes is a library, which viewers show differently or not at all; here it is shown whole. */
function makeScene(json: GltfJson): number {
  if ((json.scenes ?? []).length > 0 || !json.nodes?.some(({ mesh }) => mesh !== undefined)) return 0;
  const parents = listParents(json);
  json.scenes = [{ nodes: [...json.nodes.keys()].filter((node) => !parents.has(node)) }];
  return 1;
}

interface Fixed extends Moved {
  readonly listedTwice: number;
  readonly emptyLists: number;
  readonly scenesMade: number;
  readonly defaultSet: number;
}

function report(fixed: Fixed): Outcome {
  const say = (n: number, one: string, many: string, what: string) => (n > 0 ? [`${count(n, one, many)} ${what}`] : []);
  const parts = [
    ...say(fixed.childrenDropped, 'child', 'children', 'taken off the list, drawn with their parents as before'),
    ...say(fixed.childrenSetFree, 'child', 'children', 'made roots, since no scene had their parents'),
    ...say(fixed.rootsListed, 'root', 'roots', 'listed in the stead of their children'),
    ...say(fixed.listedTwice, 'repeated entry', 'repeated entries', 'dropped'),
    ...say(fixed.emptyLists, 'empty list', 'empty lists', 'dropped'),
    ...say(fixed.scenesMade, 'scene', 'scenes', 'made of all root nodes, since there was none'),
    ...(fixed.defaultSet > 0 ? ['the first scene made the default'] : []),
  ];
  if (parts.length === 0) return nothingToDo('The scenes are in order.');
  return done(`The scenes are in order now: ${parts.join('; ')}.`, { ...fixed });
}
