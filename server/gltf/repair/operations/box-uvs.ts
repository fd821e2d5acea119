import { count, formatNumber } from '../../../core/texts/format-text.ts';
import { chooseFinishUvs, type FinishUvs } from '../../document/choose-finish-uvs.ts';
import type { GltfJson, PrimitiveJson } from '../../document/json.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { listTextureUses, type TextureUse, texCoordOf } from '../../document/read-material.ts';
import { isMirror, listSceneNodes, type Matrix } from '../../document/world-matrices.ts';
import { drawsTriangles, packIndices } from '../../geometry/list-triangles.ts';
import { placeScene } from '../../geometry/place-scene.ts';
import { gatherElements } from '../edit/change-vertices.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { listMaterialNames, pickMaterials, sayMissing } from '../edit/pick-materials.ts';
import { readPart } from '../edit/read-geometry.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';
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

/** A mesh as nodes that stand alike draw it, but for where they stand. */
export interface BoxedMesh {
  readonly mesh: number;
  /** The first is the one whose place counts. */
  readonly nodes: readonly number[];
  readonly matrix: Matrix;
  /** Numbers of the primitives that get UVs. */
  readonly primitives: readonly number[];
}

/** Why UVs cannot be laid on a part, in words that follow “parts are”. */
export type Unboxed = 'skinned' | 'morphing' | 'instanced' | 'not readable';

export interface BoxPlan {
  /** By material, and for parts without one (null): the UVs that finishes are laid by, and that are laid anew. */
  readonly maps: ReadonlyMap<number | null, FinishUvs>;
  /** In the order of their nodes; of one mesh the first keeps it, the others get copies. */
  readonly meshes: readonly BoxedMesh[];
  readonly refused: ReadonlyMap<Unboxed, number>;
}

/** UVs of a smaller area, in units², lay nothing. */
const LEAST_UV = 1e-12;

/**
 * Finds what is to get UVs: every primitive of the materials named, whatever UVs it has; without names those of all
 * materials that have none by which a map could be laid.
 */
export function planBoxes(model: LoadedModel, materials: ReadonlySet<number> | null): BoxPlan {
  const { json } = model;
  const maps = chooseFinishUvs(json);
  const wanted = new Map<number, number[]>();
  const refused = new Map<Unboxed, number>();
  const unreadable = new Map<number, boolean>();
  json.meshes?.forEach(({ primitives }, mesh) => {
    const own = primitives.flatMap((primitive, index) => (isWanted(model, primitive, materials, maps) ? index : []));
    if (own.length > 0) wanted.set(mesh, own);
  });
  const meshes = new Map<string, { mesh: number; nodes: number[]; matrix: Matrix; primitives: readonly number[] }>();
  for (const { node, matrix } of listSceneNodes(json).sort((a, b) => a.node - b.node)) {
    const mesh = json.nodes![node]!.mesh ?? -1;
    const primitives = wanted.get(mesh);
    if (!primitives || matrix.slice(0, 12).every((value) => value === 0)) continue;
    const own = primitives.map((index) => json.meshes![mesh]!.primitives[index]!);
    if (!unreadable.has(mesh))
      unreadable.set(
        mesh,
        own.some((primitive) => !readPart(model, primitive)),
      );
    const reason = findReason(json, node, own) ?? (unreadable.get(mesh) ? 'not readable' : null);
    if (reason) {
      refused.set(reason, (refused.get(reason) ?? 0) + 1);
      continue;
    }
    // where it stands shifts a pattern, and how it is turned or scaled changes it
    const key = `${mesh} ${sayLinear(matrix)}`;
    const known = meshes.get(key);
    if (known) known.nodes.push(node);
    else meshes.set(key, { mesh, nodes: [node], matrix, primitives });
  }
  return { maps, meshes: [...meshes.values()], refused };
}

function isWanted(
  model: LoadedModel,
  primitive: PrimitiveJson,
  materials: ReadonlySet<number> | null,
  maps: BoxPlan['maps'],
): boolean {
  if (!drawsTriangles(primitive) || primitive.attributes.POSITION === undefined) return false;
  if (materials) return materials.has(primitive.material ?? -1);
  return !hasUsableUvs(model, primitive, maps.get(primitive.material ?? null)!.texCoord);
}

function findReason(json: GltfJson, node: number, primitives: readonly PrimitiveJson[]): Unboxed | null {
  const { skin, extensions } = json.nodes![node]!;
  if (skin !== undefined) return 'skinned';
  if (primitives.some(({ targets = [] }) => targets.length > 0)) return 'morphing';
  return extensions?.EXT_mesh_gpu_instancing ? 'instanced' : null;
}

/** A matrix but for where it shifts to, the same where only float noise differs. */
function sayLinear(matrix: Matrix): string {
  const linear = [0, 1, 2, 4, 5, 6, 8, 9, 10].map((at) => matrix[at]!);
  const largest = Math.max(...linear.map(Math.abs));
  return [largest.toPrecision(6), ...linear.map((value) => Math.round((value / largest) * 1e5))].join(' ');
}

/** Whether UVs cover anything, so that a map laid by them shows. */
function hasUsableUvs(model: LoadedModel, primitive: PrimitiveJson, texCoord: number): boolean {
  const accessor = primitive.attributes[`TEXCOORD_${texCoord}`];
  if (accessor === undefined) return false;
  const uvs = readAccessor(model, accessor);
  const triangles = readPart(model, primitive)?.triangles;
  // what cannot be read is not for a repair nobody asked for by name
  if (!uvs || !triangles) return true;
  let area = 0;
  for (let at = 0; at < triangles.length && !(area > LEAST_UV); at += 3) {
    const [a, b, c] = [triangles[at]! * 2, triangles[at + 1]! * 2, triangles[at + 2]! * 2];
    const flat = (uvs[b]! - uvs[a]!) * (uvs[c + 1]! - uvs[a + 1]!) - (uvs[c]! - uvs[a]!) * (uvs[b + 1]! - uvs[a + 1]!);
    if (Number.isFinite(flat)) area += Math.abs(flat) / 2;
  }
  return area > LEAST_UV;
}

/** Maps of a material that are laid by a set of UVs. */
export function listLaidMaps(json: GltfJson, material: number, texCoord: number): TextureUse[] {
  return listTextureUses(json.materials![material]!).filter(({ info }) => texCoordOf(info) === texCoord);
}
