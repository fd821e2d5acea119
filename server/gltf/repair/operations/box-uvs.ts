import { count, formatNumber } from '../../../core/texts/format-text.ts';
import { chooseFinishUvs } from '../../document/choose-finish-uvs.ts';
import type { GltfJson, PrimitiveJson } from '../../document/json.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import { isMirror, listSceneNodes } from '../../document/world-matrices.ts';
import { packIndices } from '../../geometry/list-triangles.ts';
import { placeScene } from '../../geometry/place-scene.ts';
import { gatherElements } from '../edit/gather-vertices.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { listMaterialNames, pickMaterials, sayMissing } from '../edit/pick-materials.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';
import { type BoxedMesh, type BoxPlan, listLaidMaps, planBoxes } from './plan-boxes.ts';
import { type BoxProjection, projectBoxes } from './project-boxes.ts';

/**
 * Generates UVs: every triangle is laid flat from the side of a box it faces most, at true size in the scene. Materials
 * that are named get new ones whatever they had; without names only parts without UVs by which anything could be laid. They
 * take the place of the set that finishes are laid by; maps of a named material that lie in it lose their texture transform,
 * which was for the UVs before and would turn or mirror what is laid by the new ones.
 * Vertices are doubled where neighbours face different sides; normals and all else of them stay. Tangents go, since they
 * follow UVs. A face that leans comes out drawn out, by 1.41 at 45°.
 */
export const boxUvs: Repairer<'box-uvs'> = {
  listLosses(edit, { materials }) {
    const { json } = edit;
    if (!materials) return [];
    const lays = chooseFinishUvs(json);
    const laid = new Set(
      (json.meshes ?? []).flatMap(({ primitives }) =>
        primitives.flatMap(({ material, attributes }) =>
          material !== undefined && attributes[`TEXCOORD_${lays.get(material)!.texCoord}`] !== undefined
            ? material
            : [],
        ),
      ),
    );
    return pickMaterials(edit, materials).materials.flatMap((material) => {
      const maps = laid.has(material) ? listLaidMaps(json, material, lays.get(material)!.texCoord).length : 0;
      return maps === 0
        ? []
        : `how ${count(maps, 'map')} of ${listMaterialNames(edit, [material])} lie${maps === 1 ? 's' : ''}`;
    });
  },

  async apply(edit, { materials: references, metresPerUnit = 1 }) {
    const { materials, missing } = references ? pickMaterials(edit, references) : { materials: null, missing: [] };
    if (materials?.length === 0) return unfit(sayMissing(edit, missing).trim() || 'No material is named.');
    const model = await edit.decode();
    const plan = planBoxes(model, materials && new Set(materials));
    if (plan.refused.size > 0) return unfit(sayRefused(plan.refused));
    if (plan.meshes.length === 0) {
      return references
        ? unfit(`No part of the scene uses ${listMaterialNames(edit, materials!)}.${sayMissing(edit, missing)}`)
        : nothingToDo('Every part already has UVs that can place maps.');
    }
    const projected = projectAll(model, plan.meshes, metresPerUnit);
    if (!projected) {
      return unfit('The parts are too large for single-precision UVs. Scale the model to its real size first.');
    }
    const bare = plan.meshes.flatMap(({ mesh, nodes, matrix }) => ({ node: nodes[0]!, mesh, matrix }));
    if (isCompressed(edit.json, bare)) await unpackGeometry(edit);
    const figures = layAll(edit, plan, projected);
    for (const material of materials ?? []) dropTransforms(edit.json, material, plan.maps.get(material)!.texCoord);
    return done(`${sayDone(figures, metresPerUnit)}${sayMissing(edit, missing)}`, { ...figures, metresPerUnit });
  },
};

/** By mesh of the plan and primitive in it. Null where a place in the scene is beyond what UVs can say. */
function projectAll(
  model: LoadedModel,
  meshes: readonly BoxedMesh[],
  metresPerUnit: number,
): Map<BoxedMesh, Map<number, BoxProjection>> | null {
  const scene = placeScene(model, listSceneNodes(model.json));
  const parts = new Map(scene.parts.map((part) => [`${part.node} ${part.primitive}`, part]));
  const projected = new Map<BoxedMesh, Map<number, BoxProjection>>();
  for (const boxed of meshes) {
    const own = new Map<number, BoxProjection>();
    projected.set(boxed, own);
    for (const index of boxed.primitives) {
      const part = parts.get(`${boxed.nodes[0]} ${index}`);
      if (!part) continue;
      const points = scene.points.subarray(part.first * 3, (part.first + part.vertices) * 3);
      const projection = projectBoxes(points, part.triangles, isMirror(boxed.matrix) ? -1 : 1, metresPerUnit);
      if (!projection.uvs.every(Number.isFinite)) return null;
      own.set(index, projection);
    }
  }
  return projected;
}

type Figures = Record<
  'primitives' | 'triangles' | 'vertices' | 'verticesAdded' | 'tangentsDropped' | 'meshesCopied',
  number
>;

function layAll(
  edit: ModelEdit,
  { meshes, maps }: BoxPlan,
  projected: ReadonlyMap<BoxedMesh, ReadonlyMap<number, BoxProjection>>,
): Figures {
  const { json } = edit;
  const figures = {
    primitives: 0,
    triangles: 0,
    vertices: 0,
    verticesAdded: 0,
    tangentsDropped: 0,
    meshesCopied: 0,
  };
  const sources = new Map(meshes.map(({ mesh }) => [mesh, structuredClone(json.meshes![mesh]!)]));
  const taken = new Set<number>();
  for (const boxed of meshes) {
    const { mesh, nodes } = boxed;
    let target = mesh;
    if (taken.has(mesh)) {
      target = json.meshes!.push(structuredClone(sources.get(mesh)!)) - 1;
      for (const node of nodes) json.nodes![node]!.mesh = target;
      figures.meshesCopied++;
    }
    taken.add(mesh);
    for (const [index, projection] of projected.get(boxed)!) {
      const primitive = json.meshes![target]!.primitives[index]!;
      layPart(edit, primitive, maps.get(primitive.material ?? null)!.texCoord, projection, figures);
    }
  }
  return figures;
}

function layPart(
  edit: ModelEdit,
  primitive: PrimitiveJson,
  texCoord: number,
  { gather, uvs, triangles }: BoxProjection,
  figures: Figures,
): void {
  const { TANGENT, [`TEXCOORD_${texCoord}`]: _, ...kept } = primitive.attributes;
  const before = edit.json.accessors![kept.POSITION!]!.count;
  if (gather) {
    for (const [name, accessor] of Object.entries(kept)) kept[name] = gatherElements(edit, accessor!, gather);
    primitive.indices = edit.addAccessor(packIndices(triangles, gather.length), 'SCALAR', {
      target: ELEMENT_ARRAY_BUFFER,
    });
    // strips and fans are written out
    delete primitive.mode;
  }
  const accessor = edit.addAccessor(uvs, 'VEC2', { target: ARRAY_BUFFER });
  primitive.attributes = { ...kept, [`TEXCOORD_${texCoord}`]: accessor };
  // sets are numbered without a gap (glTF 2.0 §3.7.2.1)
  for (let set = 0; set < texCoord; set++) primitive.attributes[`TEXCOORD_${set}`] ??= accessor;
  figures.primitives++;
  figures.triangles += triangles.length / 3;
  figures.vertices += uvs.length / 2;
  figures.verticesAdded += uvs.length / 2 - before;
  if (TANGENT !== undefined) figures.tangentsDropped++;
}

function dropTransforms(json: GltfJson, material: number, texCoord: number): void {
  for (const { info } of listLaidMaps(json, material, texCoord)) {
    if (!info.extensions?.KHR_texture_transform) continue;
    const { KHR_texture_transform: _, ...others } = info.extensions;
    info.texCoord = texCoord;
    if (Object.keys(others).length > 0) info.extensions = others;
    else delete info.extensions;
  }
}

function sayRefused(refused: BoxPlan['refused']): string {
  const reasons = [...refused].map(
    ([reason, number]) => `${count(number, 'part')} ${number === 1 ? 'is' : 'are'} ${reason}`,
  );
  return `Box UVs need parts that do not move in the scene: ${reasons.join(', ')}. Name the materials of other parts, or export these with UVs.`;
}

function sayDone(figures: Figures, metresPerUnit: number): string {
  const { primitives, triangles, verticesAdded, tangentsDropped, meshesCopied } = figures;
  const scale = metresPerUnit === 1 ? 'one unit to the metre' : `one unit to ${Number(metresPerUnit.toPrecision(5))} m`;
  return [
    `${count(primitives, 'part')} of ${count(triangles, 'triangle')} ${primitives === 1 ? 'has' : 'have'} box UVs now, ${scale}.`,
    verticesAdded > 0
      ? ` ${formatNumber(verticesAdded)} vertices were doubled where neighbours face different sides.`
      : '',
    tangentsDropped > 0
      ? ` Tangents of ${count(tangentsDropped, 'part')} were taken off, since they followed the UVs before.`
      : '',
    meshesCopied > 0
      ? ` ${count(meshesCopied, 'copy', 'copies')} of shared meshes ${meshesCopied === 1 ? 'was' : 'were'} made, for nodes that stand otherwise.`
      : '',
  ].join('');
}
