import { count, formatNumber } from '../../../core/texts/format-text.ts';
import type { MeshJson } from '../../document/json.ts';
import { decodeEdit } from '../edit/decode-edit.ts';
import { listUnknown } from '../edit/list-unknown.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { raiseNodes } from '../edit/raise-nodes.ts';
import { repackViews } from '../edit/repack-views.ts';
import { windsBackwards } from '../edit/transform-vertices.ts';
import { done, nothingToDo, type Repairer } from '../repairer.ts';
import { MeshBaker } from './bake-mesh.ts';
import { bakeThickness, listThicknessLosses, planThickness } from './bake-thickness.ts';
import { type BakedNode, type BakePlan, isCompressed, planBake } from './plan-bake.ts';
import { unpackGeometry } from './unpack-geometry.ts';

/**
 * Puts the world transforms of mesh nodes into their geometry: positions, normals, tangents, deltas of morph targets, and
 * the order of corners under a mirror. The nodes become roots without a transform; shared meshes are copied for each.
 * What is skinned, instanced, hidden, or moved by an animation stays as it is, so nothing of an animation is lost.
 */
export const bakeTransforms: Repairer<'bake-transforms'> = {
  listLosses({ json }) {
    const { nodes } = planBake(json);
    const unknown = listUnknown(json, new Set(nodes.map(({ node }) => node)));
    return [...unknown, ...listThicknessLosses(json, planThickness(json, nodes))];
  },

  async apply(edit) {
    const { json } = edit;
    const plan = planBake(json, await decodeEdit(edit));
    if (plan.nodes.length === 0) return nothingToDo(`No part stands under a transform to bake.${tell(plan)}`);
    if (isCompressed(json, plan.nodes)) await unpackGeometry(edit);
    bakeThickness(json, planThickness(json, plan.nodes));
    const { vertices, copies } = bakeMeshes(edit, plan.nodes);
    repackViews(edit);
    const removed = raiseNodes(json, plan.nodes);
    const mirrored = plan.nodes.filter(({ matrix }) => matrix && windsBackwards(matrix)).length;
    const nodes = plan.nodes.length;
    const details = [
      `${formatNumber(vertices)} vertices moved`,
      mirrored > 0 ? `${count(mirrored, 'mirrored part')} turned the right way round` : '',
      copies > 0 ? `${count(copies, 'copy', 'copies')} of shared meshes made` : '',
      removed > 0 ? `${count(removed, 'empty node')} removed` : '',
    ].filter((detail) => detail !== '');
    return done(
      `${count(nodes, 'part')} ${nodes === 1 ? 'stands' : 'stand'} under no transform now: ${details.join(', ')}.${tell(plan)}`,
      { nodes, vertices, mirrored, meshesCopied: copies, nodesRemoved: removed },
    );
  },
};

function bakeMeshes(edit: ModelEdit, nodes: readonly BakedNode[]): { vertices: number; copies: number } {
  const { json } = edit;
  const baker = new MeshBaker(edit);
  const users = new Map<number, number>();
  for (const { mesh } of json.nodes!) if (mesh !== undefined) users.set(mesh, (users.get(mesh) ?? 0) + 1);
  let copies = 0;
  for (const { node, mesh, matrix } of nodes) {
    if (!matrix) continue;
    const source = json.meshes![mesh]!;
    const primitives = source.primitives.map((primitive) => baker.bake(primitive, matrix));
    // the last node that draws a mesh takes it over
    if (users.get(mesh) === 1) {
      source.primitives = primitives;
      continue;
    }
    users.set(mesh, users.get(mesh)! - 1);
    const copy: MeshJson = { ...structuredClone({ ...source, primitives: [] }), primitives };
    json.nodes![node]!.mesh = json.meshes!.push(copy) - 1;
    copies++;
  }
  return { vertices: baker.vertices, copies };
}

function tell({ keptOut }: BakePlan): string {
  const reasons = [...keptOut].map(([reason, number]) => `${formatNumber(number)} ${reason}`);
  return reasons.length === 0 ? '' : ` Left as they are: ${reasons.join(', ')}.`;
}
