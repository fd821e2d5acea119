import type { GltfJson, NodeJson } from '../../document/json.ts';

/**
 * Scales what a node shows of its mesh, the mesh left as it is: on the node itself, or on a new node below it where the
 * node's own scale is not free: others hang from it, it is a joint, or an animation drives it.
 * @param isDriven whether something beside the scene's tree looks at the node's scale
 */
export function scaleNode(json: GltfJson, index: number, factor: number, isDriven: boolean): void {
  const node = json.nodes![index]!;
  if (isDriven || (node.children ?? []).length > 0) {
    addScaledChild(json, index, factor);
  } else if (node.matrix) {
    node.matrix = node.matrix.map((value, at) => (at < 12 && at % 4 !== 3 ? value * factor : value));
  } else {
    node.scale = (node.scale ?? [1, 1, 1]).map((value) => value * factor);
  }
}

/** Moves the mesh, with its weights and instances, onto a node of its own. */
function addScaledChild(json: GltfJson, index: number, factor: number): void {
  const node = json.nodes![index]! as NodeJson & { weights?: number[] };
  const child: NodeJson & { weights?: number[] } = { mesh: node.mesh!, scale: [factor, factor, factor] };
  delete node.mesh;
  if (node.name !== undefined) child.name = node.name;
  if (node.weights) {
    child.weights = node.weights;
    delete node.weights;
  }
  const { EXT_mesh_gpu_instancing: instances, ...others } = node.extensions ?? {};
  if (instances) {
    child.extensions = { EXT_mesh_gpu_instancing: instances };
    if (Object.keys(others).length > 0) node.extensions = others;
    else delete node.extensions;
  }
  const added = json.nodes!.push(child) - 1;
  (node.children ??= []).push(added);
  retarget(json, index, added);
}

/** Animated weights follow the mesh. */
function retarget(json: GltfJson, from: number, to: number): void {
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.node === from && target.path === 'weights') target.node = to;
      const driven = target?.extensions?.KHR_animation_pointer;
      if (typeof driven?.pointer === 'string' && driven.pointer.startsWith(`/nodes/${from}/weights`)) {
        driven.pointer = driven.pointer.replace(`/nodes/${from}/`, `/nodes/${to}/`);
      }
    }
  }
}

/** Nodes whose own scale something looks at: joints, and what animations scale. */
export function listScaleDriven(json: GltfJson): Set<number> {
  const driven = new Set<number>((json.skins ?? []).flatMap(({ joints = [] }) => joints));
  for (const { channels = [] } of json.animations ?? []) {
    for (const { target } of channels) {
      if (target?.path === 'scale' && typeof target.node === 'number') driven.add(target.node);
      const pointer = target?.extensions?.KHR_animation_pointer?.pointer;
      const match = typeof pointer === 'string' ? /^\/nodes\/(\d+)\/(scale|matrix)$/.exec(pointer) : null;
      if (match) driven.add(Number(match[1]));
    }
  }
  return driven;
}
