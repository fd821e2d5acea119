import type { SurveyedPrimitive } from '../../core/product/survey.ts';
import type { FinishUvs } from '../document/choose-finish-uvs.ts';
import {
  DRACO,
  type GltfJson,
  MESHOPT,
  type PrimitiveJson,
  TRIANGLE_FAN,
  TRIANGLE_STRIP,
  TRIANGLES,
} from '../document/json.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import type { SceneNode } from '../document/world-matrices.ts';
import { isTriangleList } from '../geometry/list-triangles.ts';
import { measureScale } from './geometry/measure-transforms.ts';

/**
 * Surveys every primitive: its counts, attributes, scale and compression.
 * @param byMesh the nodes of the scene that draw each mesh
 * @param lost triangles that cannot be drawn, by mesh and primitive (`0/1`)
 */
export function surveyPrimitives(
  model: LoadedModel,
  nodes: readonly SceneNode[],
  byMesh: ReadonlyMap<number, readonly SceneNode[]>,
  finishUvs: ReadonlyMap<number | null, FinishUvs>,
  lost: ReadonlyMap<string, number>,
): SurveyedPrimitive[] {
  const { json } = model;
  const worlds = new Map(nodes.map(({ node, matrix }) => [node, matrix]));
  return (json.meshes ?? []).flatMap((mesh, m) =>
    mesh.primitives.map((primitive, p): SurveyedPrimitive => {
      const names = Object.keys(primitive.attributes);
      const position = primitive.attributes.POSITION;
      const vertices = position === undefined ? 0 : json.accessors![position]!.count;
      return {
        mesh: m,
        primitive: p,
        material: primitive.material ?? null,
        uses: byMesh.get(m)?.length ?? 0,
        triangles: countTriangles(model, primitive, vertices) - (lost.get(`${m}/${p}`) ?? 0),
        vertices,
        uvSets: names.filter((name) => name.startsWith('TEXCOORD_')).length,
        hasUvs: names.includes(`TEXCOORD_${finishUvs.get(primitive.material ?? null)?.texCoord ?? 0}`),
        hasNormals: names.includes('NORMAL'),
        hasTangents: names.includes('TANGENT'),
        scale: measureScale(model, primitive, byMesh.get(m) ?? [], worlds),
        hasColours: names.some((name) => name.startsWith('COLOR_')),
        compression: compressionOf(json, primitive),
      };
    }),
  );
}

function countTriangles(model: LoadedModel, primitive: PrimitiveJson, vertices: number): number {
  const { indices, mode = TRIANGLES } = primitive;
  // the accessor of a Draco strip may count the corners of the strip
  if (mode === TRIANGLE_STRIP && isTriangleList(model, primitive)) return model.arrays!.get(indices!)!.length / 3;
  const corners = indices === undefined ? vertices : model.json.accessors![indices]!.count;
  switch (mode) {
    case TRIANGLES:
      return Math.floor(corners / 3);
    case TRIANGLE_STRIP:
    case TRIANGLE_FAN:
      return Math.max(0, corners - 2);
    default:
      return 0;
  }
}

function compressionOf(json: GltfJson, primitive: PrimitiveJson): SurveyedPrimitive['compression'] {
  if (primitive.extensions?.[DRACO]) return 'draco';
  const view = json.accessors?.[primitive.attributes.POSITION ?? -1]?.bufferView;
  const extensions = view === undefined ? undefined : json.bufferViews![view]!.extensions;
  return MESHOPT.some((name) => extensions?.[name]) ? 'meshopt' : 'none';
}
