import { REPAIR_NOTES, REPAIR_OUTCOMES } from '../../../core/texts/repair-outcomes.ts';
import type { GltfJson, NodeJson, PrimitiveJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import type { ModelEdit } from '../edit/model-edit.ts';
import { type PartGeometry, readPart } from '../edit/read-geometry.ts';
import { removeNodes } from '../edit/scene-nodes.ts';
import { unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Outcome, type Repairer, unfit } from '../repairer.ts';
import { mergeGroup } from './merge-group.ts';
import { findPrimitive, groupParts, listMergeLosses, type MergePart, type MergePlan, planMerge } from './plan-merge.ts';

const OUTCOMES = REPAIR_OUTCOMES['merge-parts'];

/**
 * Merges loose parts into one mesh with one primitive for each material: bakes world transforms, copies shared meshes, and
 * writes plain indexed triangles. Parts that are animated, skinned, morphing or hidden stay as they are.
 */
export const mergeParts: Repairer<'merge-parts'> = {
  listLosses({ json }) {
    const { parts } = planMerge(json);
    return savesDraws(json, parts) ? listMergeLosses(json, parts) : [];
  },

  async apply(edit) {
    const { json } = edit;
    const plan = planMerge(json);
    if (!savesDraws(json, plan.parts)) return refuse(plan);
    const read = readParts(await edit.decode(), plan.parts);
    const parts = plan.parts.filter((part) => read.has(findPrimitive(json, part)));
    const unread = plan.parts.length - parts.length;
    if (unread > 0) plan.keptOut.set('unreadable', (plan.keptOut.get('unreadable') ?? 0) + unread);
    const groups = groupParts(json, parts);
    if (!savesDraws(json, parts)) return refuse({ ...plan, parts });
    const bytes = estimateBytes(json, parts, read);
    if (bytes > BYTE_LIMIT) {
      return unfit(OUTCOMES.tooLarge(parts.length, bytes, BYTE_LIMIT));
    }
    await unpackGeometry(edit);
    const merged = groups.map((group) =>
      mergeGroup(
        edit,
        group.map((part) => ({ ...read.get(findPrimitive(json, part))!, part })),
      ),
    );
    const name = findName(json);
    const mesh = (json.meshes ??= []).push({ name, primitives: merged.map(({ primitive }) => primitive) }) - 1;
    replaceParts(edit, parts, { name, mesh });
    return report(plan, parts, merged);
  },
};

/** A GLB can hold 4 GiB, and viewers fail much earlier; half of that leaves room for images. */
const BYTE_LIMIT = 2_000_000_000;
/** Position, normal, two UV sets, and colour as bytes. */
const VERTEX_BYTES = 44;

function readParts(model: LoadedModel, parts: readonly MergePart[]): Map<PrimitiveJson, PartGeometry> {
  const read = new Map<PrimitiveJson, PartGeometry>();
  const seen = new Set<PrimitiveJson>();
  for (const part of parts) {
    const primitive = findPrimitive(model.json, part);
    if (seen.has(primitive)) continue;
    seen.add(primitive);
    const geometry = readPart(model, primitive);
    if (geometry) read.set(primitive, geometry);
  }
  return read;
}

function estimateBytes(json: GltfJson, parts: readonly MergePart[], read: Map<PrimitiveJson, PartGeometry>): number {
  return parts.reduce((sum, part) => {
    const { triangles, used, sourceVertices } = read.get(findPrimitive(json, part))!;
    return sum + (used?.length ?? sourceVertices) * VERTEX_BYTES + triangles.length * 4;
  }, 0);
}

const savesDraws = (json: GltfJson, parts: readonly MergePart[]) => groupParts(json, parts).length < parts.length;

function findName(json: GltfJson): string {
  const { name } = (json.scenes?.[json.scene ?? 0] ?? {}) as { name?: unknown };
  return typeof name === 'string' && name.trim() ? name : 'parts';
}

/** Removes the parts from their nodes and adds the merged mesh to the scene. Primitives that stay keep their node. */
function replaceParts({ json }: ModelEdit, parts: readonly MergePart[], node: NodeJson): void {
  const gone = new Map<number, Set<number>>();
  for (const { mesh, primitive } of parts) {
    const primitives = gone.get(mesh);
    if (primitives) primitives.add(primitive);
    else gone.set(mesh, new Set([primitive]));
  }
  const rest = new Map<number, number | undefined>();
  for (const [mesh, primitives] of gone) {
    const kept = json.meshes![mesh]!.primitives.filter((_, index) => !primitives.has(index));
    rest.set(mesh, kept.length === 0 ? undefined : json.meshes!.push({ ...json.meshes![mesh]!, primitives: kept }) - 1);
  }
  const emptied = new Set<number>();
  for (const part of parts) {
    if (emptied.has(part.node)) continue;
    emptied.add(part.node);
    const kept = rest.get(part.mesh);
    if (kept === undefined) delete json.nodes![part.node]!.mesh;
    else json.nodes![part.node]!.mesh = kept;
  }
  removeNodes(json, emptied);
  const added = json.nodes!.push(node) - 1;
  const scene = json.scenes?.[json.scene ?? 0];
  if (scene) (scene.nodes ??= []).push(added);
}

function refuse({ parts, keptOut }: MergePlan): Outcome {
  return nothingToDo(OUTCOMES.nothing(parts.length) + REPAIR_NOTES.unchanged(keptOut));
}

function report(
  plan: MergePlan,
  parts: readonly MergePart[],
  merged: readonly ReturnType<typeof mergeGroup>[],
): Outcome {
  const figures = {
    partsBefore: new Set(parts.map(({ node }) => node)).size,
    drawsBefore: plan.draws,
    drawsAfter: plan.draws - parts.length + merged.length,
    triangles: merged.reduce((sum, group) => sum + group.triangles, 0),
    vertices: merged.reduce((sum, group) => sum + group.vertices, 0),
  };
  return done(OUTCOMES.done(figures) + REPAIR_NOTES.unchanged(plan.keptOut), figures);
}
