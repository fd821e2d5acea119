import type { Node, Primitive, TextureInfo } from '@gltf-transform/core';
import type { Transform } from '@gltf-transform/extensions';
import { createIo } from './gltf-io.ts';

export type Vector = readonly [number, number, number];

/** Steps on the surface, in metres of the scene, for one complete repeat of a map: across it, and down it. */
export interface Repeat {
  readonly across: Vector;
  readonly down: Vector;
  /** Centre of the triangle, in the scene. */
  readonly middle: Vector;
}

/**
 * The placement of a material's colour map on each triangle, by the specifications alone: accessors as decoded (glTF
 * 2.0 §3.6.2, and the library's codecs), nodes in place, `KHR_texture_transform` as T · R · S with a rotation that
 * turns coordinates counter-clockwise while v runs down. The steps follow from the positions and the map coordinates of
 * three corners.
 */
export async function measureRepeats(glb: Uint8Array, name: string): Promise<Repeat[]> {
  const document = await (await createIo()).readBinary(glb);
  const repeats: Repeat[] = [];
  for (const node of document.getRoot().listNodes()) {
    for (const primitive of node.getMesh()?.listPrimitives() ?? []) {
      const material = primitive.getMaterial();
      if (material?.getName() !== name) continue;
      repeats.push(...measurePrimitive(node, primitive, material.getBaseColorTextureInfo()!));
    }
  }
  return repeats;
}

function measurePrimitive(node: Node, primitive: Primitive, info: TextureInfo): Repeat[] {
  const transform = info.getExtension<Transform>('KHR_texture_transform');
  const texCoord = transform?.getTexCoord() ?? info.getTexCoord();
  const [sx, sy] = transform?.getScale() ?? [1, 1];
  const [ox, oy] = transform?.getOffset() ?? [0, 0];
  const turn = transform?.getRotation() ?? 0;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  const positions = primitive.getAttribute('POSITION')!;
  const uvs = primitive.getAttribute(`TEXCOORD_${texCoord}`)!;
  const indices =
    primitive.getIndices()?.getArray() ?? Array.from({ length: positions.getCount() }, (_, index) => index);
  const m = node.getWorldMatrix();

  const place = (vertex: number): Vector => {
    const [x, y, z] = positions.getElement(vertex, [0, 0, 0]) as [number, number, number];
    const row = (i: number) => m[i]! * x + m[4 + i]! * y + m[8 + i]! * z + m[12 + i]!;
    return [row(0), row(1), row(2)];
  };
  const onMap = (vertex: number): readonly [number, number] => {
    const [u, v] = uvs.getElement(vertex, [0, 0]) as [number, number];
    return [cos * sx * u + sin * sy * v + ox, -sin * sx * u + cos * sy * v + oy];
  };

  const repeats: Repeat[] = [];
  for (let t = 0; t + 2 < indices.length; t += 3) {
    const corners = [indices[t]!, indices[t + 1]!, indices[t + 2]!] as const;
    const [p0, p1, p2] = corners.map(place) as [Vector, Vector, Vector];
    const [q0, q1, q2] = corners.map(onMap) as [readonly [number, number], [number, number], [number, number]];
    const [a, b, c, d] = [q1[0] - q0[0], q2[0] - q0[0], q1[1] - q0[1], q2[1] - q0[1]];
    const flat = a * d - b * c;
    // the edges as steps of the map, solved for the steps: (e1 e2) = (across down) · ((a b) (c d))
    const solve = (along1: number, along2: number): Vector =>
      [0, 1, 2].map((i) => (along1 * (p1[i]! - p0[i]!) + along2 * (p2[i]! - p0[i]!)) / flat) as unknown as Vector;
    repeats.push({
      across: solve(d, -c),
      down: solve(-b, a),
      middle: [0, 1, 2].map((i) => (p0[i]! + p1[i]! + p2[i]!) / 3) as unknown as Vector,
    });
  }
  return repeats;
}
