import {
  describeNoMaterials,
  type NotBoxable,
  REPAIR_LOSSES,
  REPAIR_NOTES,
  REPAIR_OUTCOMES,
} from '../../../core/texts/repair-outcomes.ts';
import { chooseFinishUvs, type FinishUvs } from '../../document/choose-finish-uvs.ts';
import type { GltfJson, PrimitiveJson } from '../../document/json.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { listTextureUses, type TextureUse, texCoordOf } from '../../document/read-material.ts';
import { isMirror, listSceneNodes, type Matrix } from '../../document/world-matrices.ts';
import { drawsTriangles, packIndices } from '../../geometry/list-triangles.ts';
import { placeScene } from '../../geometry/place-scene.ts';
import { gatherElements } from '../edit/change-vertices.ts';
import { ARRAY_BUFFER, ELEMENT_ARRAY_BUFFER, type ModelEdit } from '../edit/model-edit.ts';
import { readPart } from '../edit/read-geometry.ts';
import { isCompressed, unpackGeometry } from '../edit/unpack-geometry.ts';
import { done, nothingToDo, type Repairer, unfit } from '../repairer.ts';
import { type BoxProjection, projectBoxes } from './project-boxes.ts';

const OUTCOMES = REPAIR_OUTCOMES['box-uvs'];

/**
 * Generates UVs by box mapping: projects every triangle from the side of a box that it faces most, at true size in the
 * scene. Named materials get new UVs in any case; without names, only parts get them whose UVs can place no map. The new UVs
 * replace the set that finishes use. Maps of a named material in that set lose their texture transform, which was made for
 * the previous UVs and would turn or mirror them.
 *
 * Vertices are doubled where neighbouring triangles face different sides. Tangents are removed, since they depend on UVs;
 * normals and other attributes stay. A map is stretched on a sloping face, by 1.41 at 45°.
 */
export const boxUvs: Repairer<'box-uvs'> = {
  listLosses(edit, { materials }) {
    const { json } = edit;
    if (!materials) return [];
    const finishUvs = chooseFinishUvs(json);
    const mapped = new Set(
      (json.meshes ?? []).flatMap(({ primitives }) =>
        primitives.flatMap(({ material, attributes }) =>
          material !== undefined && attributes[`TEXCOORD_${finishUvs.get(material)!.texCoord}`] !== undefined
            ? material
            : [],
        ),
      ),
    );
    return edit.pickMaterials(materials).materials.flatMap((material) => {
      const maps = mapped.has(material) ? listMaps(json, material, finishUvs.get(material)!.texCoord).length : 0;
      return maps === 0 ? [] : REPAIR_LOSSES.mapPlacement(maps, edit.labelMaterials([material])[0]!);
    });
  },

  async apply(edit, { materials: references, metresPerUnit = 1 }) {
    const { materials, missing } = references ? edit.pickMaterials(references) : { materials: null, missing: [] };
    if (materials?.length === 0) return unfit(describeNoMaterials(missing, edit.labelMaterials()));
    const model = await edit.decode();
    const plan = planBoxes(model, materials && new Set(materials));
    if (plan.refused.size > 0) return unfit(OUTCOMES.notBoxable(plan.refused));
    const note = REPAIR_NOTES.missing(missing, edit.labelMaterials());
    if (plan.meshes.length === 0) {
      return materials
        ? unfit(OUTCOMES.unusedMaterials(edit.labelMaterials(materials)) + note)
        : nothingToDo(OUTCOMES.nothing);
    }
    const projected = projectAll(model, plan.meshes, metresPerUnit);
    if (!projected) return unfit(OUTCOMES.tooLarge);
    const bare = plan.meshes.flatMap(({ mesh, nodes, matrix }) => ({ node: nodes[0]!, mesh, matrix }));
    if (isCompressed(edit.json, bare)) await unpackGeometry(edit);
    const figures = { ...writeAll(edit, plan, projected), metresPerUnit };
    for (const material of materials ?? []) dropTransforms(edit.json, material, plan.maps.get(material)!.texCoord);
    return done(OUTCOMES.done(figures) + note, figures);
  },
};

/** Projects by mesh of the plan and primitive. Null where a position is too large for UVs of single precision. */
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

function writeAll(
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
  const inUse = new Set<number>();
  for (const boxed of meshes) {
    const { mesh, nodes } = boxed;
    let target = mesh;
    if (inUse.has(mesh)) {
      target = json.meshes!.push(structuredClone(sources.get(mesh)!)) - 1;
      for (const node of nodes) json.nodes![node]!.mesh = target;
      figures.meshesCopied++;
    }
    inUse.add(mesh);
    for (const [index, projection] of projected.get(boxed)!) {
      const primitive = json.meshes![target]!.primitives[index]!;
      writeUvs(edit, primitive, maps.get(primitive.material ?? null)!.texCoord, projection, figures);
    }
  }
  return figures;
}

function writeUvs(
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
    // the new indices list triangles, also of strips and fans
    delete primitive.mode;
  }
  const accessor = edit.addAccessor(uvs, 'VEC2', { target: ARRAY_BUFFER });
  primitive.attributes = { ...kept, [`TEXCOORD_${texCoord}`]: accessor };
  // sets must be numbered without a gap (glTF 2.0 §3.7.2.1)
  for (let set = 0; set < texCoord; set++) primitive.attributes[`TEXCOORD_${set}`] ??= accessor;
  figures.primitives++;
  figures.triangles += triangles.length / 3;
  figures.vertices += uvs.length / 2;
  figures.verticesAdded += uvs.length / 2 - before;
  if (TANGENT !== undefined) figures.tangentsDropped++;
}

function dropTransforms(json: GltfJson, material: number, texCoord: number): void {
  for (const { info } of listMaps(json, material, texCoord)) {
    if (!info.extensions?.KHR_texture_transform) continue;
    const { KHR_texture_transform: _, ...others } = info.extensions;
    info.texCoord = texCoord;
    if (Object.keys(others).length > 0) info.extensions = others;
    else delete info.extensions;
  }
}

/** A mesh, and nodes that draw it with the same rotation and scale. */
interface BoxedMesh {
  readonly mesh: number;
  /** UVs are projected from where the first node is. */
  readonly nodes: readonly number[];
  readonly matrix: Matrix;
  /** Indices of the primitives that get UVs. */
  readonly primitives: readonly number[];
}

interface BoxPlan {
  /** By material, and for parts without one (null): the UVs that finishes use and that are replaced. */
  readonly maps: ReadonlyMap<number | null, FinishUvs>;
  /** In the order of their nodes. Of several entries with one mesh, the first keeps the mesh and the others get copies. */
  readonly meshes: readonly BoxedMesh[];
  readonly refused: ReadonlyMap<NotBoxable, number>;
}

/** Area in units². UVs of a smaller area place no map. */
const LEAST_UV = 1e-12;

/**
 * Finds the primitives that get UVs: all primitives of the named materials; without names, those of all materials whose
 * UVs can place no map.
 */
function planBoxes(model: LoadedModel, materials: ReadonlySet<number> | null): BoxPlan {
  const { json } = model;
  const maps = chooseFinishUvs(json);
  const wanted = new Map<number, number[]>();
  const refused = new Map<NotBoxable, number>();
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
    const reason = findReason(json, node, own) ?? (unreadable.get(mesh) ? 'unreadable' : null);
    if (reason) {
      refused.set(reason, (refused.get(reason) ?? 0) + 1);
      continue;
    }
    // another position only shifts the pattern; another rotation or scale changes it
    const key = `${mesh} ${keyLinear(matrix)}`;
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

function findReason(json: GltfJson, node: number, primitives: readonly PrimitiveJson[]): NotBoxable | null {
  const { skin, extensions } = json.nodes![node]!;
  if (skin !== undefined) return 'skinned';
  if (primitives.some(({ targets = [] }) => targets.length > 0)) return 'morphing';
  return extensions?.EXT_mesh_gpu_instancing ? 'instanced' : null;
}

/** Key of the rotation and scale of a matrix; the same for matrices that differ only by float noise. */
function keyLinear(matrix: Matrix): string {
  const linear = [0, 1, 2, 4, 5, 6, 8, 9, 10].map((at) => matrix[at]!);
  const largest = Math.max(...linear.map(Math.abs));
  return [largest.toPrecision(6), ...linear.map((value) => Math.round((value / largest) * 1e5))].join(' ');
}

/** Whether UVs have an area, so that a map is visible. */
function hasUsableUvs(model: LoadedModel, primitive: PrimitiveJson, texCoord: number): boolean {
  const accessor = primitive.attributes[`TEXCOORD_${texCoord}`];
  if (accessor === undefined) return false;
  const uvs = readAccessor(model, accessor);
  const triangles = readPart(model, primitive)?.triangles;
  // unreadable parts stay as they are unless they are named
  if (!uvs || !triangles) return true;
  let area = 0;
  for (let at = 0; at < triangles.length && !(area > LEAST_UV); at += 3) {
    const [a, b, c] = [triangles[at]! * 2, triangles[at + 1]! * 2, triangles[at + 2]! * 2];
    const flat = (uvs[b]! - uvs[a]!) * (uvs[c + 1]! - uvs[a + 1]!) - (uvs[c]! - uvs[a]!) * (uvs[b + 1]! - uvs[a + 1]!);
    if (Number.isFinite(flat)) area += Math.abs(flat) / 2;
  }
  return area > LEAST_UV;
}

/** Maps of a material that use a UV set. */
function listMaps(json: GltfJson, material: number, texCoord: number): TextureUse[] {
  return listTextureUses(json.materials![material]!).filter(({ info }) => texCoordOf(info) === texCoord);
}
