import { chooseFinishUvs, type FinishUvs } from '../../document/choose-finish-uvs.ts';
import type { GltfJson, PrimitiveJson } from '../../document/json.ts';
import { type LoadedModel, readAccessor } from '../../document/read-accessor.ts';
import { texCoordOf } from '../../document/texture-transform.ts';
import { listTextureUses, type TextureUse } from '../../document/texture-uses.ts';
import { listSceneNodes, type Matrix } from '../../document/world-matrices.ts';
import { drawsTriangles } from '../../geometry/list-triangles.ts';
import { readPart } from '../edit/read-part.ts';

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
