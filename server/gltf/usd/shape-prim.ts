import { formatArray, formatTuple } from '../../usd/usda-text.ts';
import { type LoadedModel, readAccessor } from '../document/read-accessor.ts';
import { compileTransform } from '../document/read-material.ts';
import type { Draw } from './list-draws.ts';
import type { Shape } from './place-shape.ts';
import type { Placement } from './plan-surface.ts';

export interface ShapePrim {
  readonly name: string;
  readonly doubleSided: boolean;
  /** Path of its material; null where variants bind one. */
  readonly material: string | null;
  /** By the names of their primvars. */
  readonly placements: ReadonlyMap<string, Placement>;
  /** Linear factor of the colours of its vertices; null leaves these out. */
  readonly tint: readonly number[] | null;
}

/** Width of lines and points, metres: a millimetre. glTF draws them one pixel wide. */
const WIDTH = '0.001';

/** The text of a prim that draws a shape, with UVs as its materials need them. */
export function* writeShapePrim(model: LoadedModel, draw: Draw, shape: Shape, prim: ShapePrim): Generator<string> {
  const { kind, points, normals, corners } = shape;
  const type = { triangles: 'Mesh', lines: 'BasisCurves', points: 'Points' }[kind];
  yield `        def ${type} "${prim.name}" (\n            prepend apiSchemas = ["MaterialBindingAPI"]\n        )\n        {\n`;
  const line = (text: string) => `            ${text}\n`;
  if (kind === 'triangles') yield line(`uniform bool doubleSided = ${prim.doubleSided ? 1 : 0}`);
  yield line(`float3[] extent = [${extentOf(points).map(formatTuple).join(', ')}]`);
  if (prim.material) yield line(`rel material:binding = <${prim.material}>`);
  if (kind === 'triangles') {
    yield* array('int[] faceVertexCounts', new Uint32Array(corners.length / 3).fill(3), 1);
    yield* array('int[] faceVertexIndices', corners, 1);
    if (normals) yield* array('normal3f[] normals', normals, 3, 'vertex');
    yield* array('point3f[] points', points, 3);
    yield* writeColours(model, draw, shape, prim.tint);
    for (const [name, placement] of prim.placements) {
      const uvs = placeUvs(model, draw, shape, placement);
      if (uvs) yield* array(`texCoord2f[] primvars:${name}`, uvs, 2, 'vertex');
    }
    yield line('uniform token subdivisionScheme = "none"');
  } else {
    const listed = kind === 'lines' ? gather(points, corners) : points;
    if (kind === 'lines') yield* array('int[] curveVertexCounts', new Uint32Array(corners.length / 2).fill(2), 1);
    yield* array('point3f[] points', listed, 3);
    if (kind === 'lines') yield line('uniform token type = "linear"');
    yield `            float[] widths = [${WIDTH}] (\n                interpolation = "constant"\n            )\n`;
  }
  yield '        }\n';
}

function* array(head: string, values: ArrayLike<number>, width: number, interpolation?: string): Generator<string> {
  yield `            ${head} = `;
  yield* formatArray(values, width);
  yield interpolation ? ` (\n                interpolation = "${interpolation}"\n            )\n` : '\n';
}

function extentOf(points: Float32Array): [number[], number[]] {
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let at = 0; at < points.length; at++) {
    min[at % 3] = Math.min(min[at % 3]!, points[at]!);
    max[at % 3] = Math.max(max[at % 3]!, points[at]!);
  }
  return [min, max];
}

function gather(points: Float32Array, corners: Uint32Array): Float32Array {
  const out = new Float32Array(corners.length * 3);
  corners.forEach((corner, at) => {
    out.set(points.subarray(corner * 3, corner * 3 + 3), at * 3);
  });
  return out;
}

/**
 * UVs with the transform of a texture in them, since not every viewer can move a texture. USD counts v from below.
 * @returns null when the part has no such UVs
 */
function placeUvs(
  model: LoadedModel,
  draw: Draw,
  { from }: Shape,
  { texCoord, transform }: Placement,
): Float32Array | null {
  const accessor = draw.primitive.attributes[`TEXCOORD_${texCoord}`];
  const uvs = accessor === undefined ? null : readAccessor(model, accessor);
  if (!uvs) return null;
  const move = compileTransform(transform ?? undefined);
  const out = new Float32Array(from.length * 2);
  from.forEach((vertex, at) => {
    const [u, v] = move(uvs[vertex * 2] ?? 0, uvs[vertex * 2 + 1] ?? 0);
    out[at * 2] = u;
    out[at * 2 + 1] = 1 - v;
  });
  return out;
}

function* writeColours(
  model: LoadedModel,
  { primitive }: Draw,
  { from }: Shape,
  tint: readonly number[] | null,
): Generator<string> {
  const accessor = primitive.attributes.COLOR_0;
  const colours = tint && accessor !== undefined ? readAccessor(model, accessor) : null;
  if (!tint || !colours) return;
  const width = model.json.accessors![accessor!]!.type === 'VEC4' ? 4 : 3;
  const out = new Float32Array(from.length * 3);
  from.forEach((vertex, at) => {
    for (let c = 0; c < 3; c++) out[at * 3 + c] = (colours[vertex * width + c] ?? 1) * tint[c]!;
  });
  yield* array('color3f[] primvars:displayColor', out, 3, 'vertex');
}
