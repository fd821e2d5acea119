import type { Survey, SurveyedImage } from '../../core/product/survey.ts';
import type { Container } from '../document/container.ts';
import { findReachable } from '../document/find-reachable.ts';
import { describeNodes, type GltfJson } from '../document/json.ts';
import type { Indexed } from '../document/visit-references.ts';
import type { Matrix } from '../document/world-matrices.ts';
import { measureGpuMemory, measureWeight } from './measure-weight.ts';

type Content = Pick<Survey, 'hidden' | 'scenesWithChildren' | 'unused' | 'gpu'> & {
  readonly causes: Survey['weight']['causes'];
};

/**
 * Lists the hidden and unused content of a file, and what its bytes are for. With an unknown extension, which may refer to any
 * object, no object counts as unused; only bytes outside all views do.
 */
export function surveyContent(
  container: Pick<Container, 'json' | 'jsonBytes' | 'bin'>,
  sceneNodes: readonly { readonly node: number; readonly matrix: Matrix }[],
  images: readonly SurveyedImage[],
): Content {
  const { json } = container;
  const reachable = findReachable(json);
  const { causes, unreadBytes } = measureWeight(container, reachable, images);
  const count = (kind: Indexed) => {
    const list = json[kind];
    return (Array.isArray(list) ? list.length : 0) - reachable[kind].size;
  };
  return {
    hidden: describeNodes(json, listHidden(json, sceneNodes)),
    scenesWithChildren: listScenesWithChildren(json),
    unused: {
      nodes: count('nodes'),
      meshes: count('meshes'),
      materials: count('materials'),
      textures: count('textures'),
      images: count('images'),
      accessors: count('accessors'),
      bufferViews: count('bufferViews'),
      bytes: unreadBytes,
    },
    gpu: measureGpuMemory(json, reachable, images),
    causes,
  };
}

/** Scenes that list nodes with parents, although a scene's nodes must be roots (glTF 2.0 §3.5.1). */
function listScenesWithChildren(json: GltfJson): number[] {
  const children = new Set((json.nodes ?? []).flatMap((node) => node.children ?? []));
  return (json.scenes ?? []).flatMap(({ nodes = [] }, scene) => (nodes.some((n) => children.has(n)) ? [scene] : []));
}

/** Share of the cube of the longest edge. A smaller volume is zero apart from rounding. */
const FLAT = 1e-12;

/**
 * Nodes of the scene whose mesh is invisible: by a scale of zero, their own or inherited, or by `KHR_node_visibility`.
 * Animated nodes are not counted, since an animation may show them. Skinned meshes do not use the scale of their node.
 */
function listHidden(
  json: GltfJson,
  sceneNodes: readonly { readonly node: number; readonly matrix: Matrix }[],
): number[] {
  const hidden = new Set<number>();
  const moved = new Set(listMoved(json));
  // parents come before their children in the list
  const inherits = new Set<number>();
  const handDown = (node: number, to: Set<number>) => {
    for (const child of json.nodes![node]!.children ?? []) to.add(child);
  };
  for (const { node, matrix } of sceneNodes) {
    const { extensions, mesh, skin } = json.nodes![node]!;
    if (moved.has(node)) {
      handDown(node, moved);
      continue;
    }
    const invisible = inherits.has(node) || extensions?.KHR_node_visibility?.visible === false;
    if (invisible) handDown(node, inherits);
    if (mesh !== undefined && (invisible || (skin === undefined && isFlat(matrix)))) hidden.add(node);
  }
  return [...hidden];
}

/** Nodes of which an animation changes any property. */
function* listMoved(json: GltfJson): Generator<number> {
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.node !== undefined) yield target.node;
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/nodes\/(\d+)\//.exec(pointer) : null;
      if (match) yield Number(match[1]);
    }
  }
}

function isFlat(m: Matrix): boolean {
  const [a, b, c, d, e, f, g, h, i] = [m[0]!, m[1]!, m[2]!, m[4]!, m[5]!, m[6]!, m[8]!, m[9]!, m[10]!];
  const volume = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  const longest = Math.max(Math.hypot(a, b, c), Math.hypot(d, e, f), Math.hypot(g, h, i));
  return !(Math.abs(volume) > FLAT * longest ** 3);
}
