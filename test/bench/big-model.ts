import { open } from 'node:fs/promises';
import { makeHead } from '../../server/gltf/document/container.ts';
import type { GltfJson } from '../../server/gltf/document/json.ts';

/** Bytes of one vertex: position and normal as three floats each, texture coordinates as two. */
const VERTEX_BYTES = 32;
/** With tangents (four floats) and a second set of texture coordinates, as baked models have. */
const FULL_VERTEX_BYTES = 56;

/**
 * Writes a GLB of about the size asked for: wavy sheets, the slots going round among them, with true bounds, so that the
 * validator and every reader take it. The content hardly matters to what is measured; its size does.
 */
export async function writeBigModel(
  path: string,
  megabytes: number,
  slots: number,
  parts: number,
  full = false,
): Promise<void> {
  const each = full ? FULL_VERTEX_BYTES : VERTEX_BYTES;
  // a vertex of a grid has two triangles, of three 4-byte indices each
  const vertices = Math.floor((megabytes * 1024 * 1024) / parts / (each + 24));
  const side = Math.floor(Math.sqrt(vertices));
  const json: GltfJson = {
    asset: { version: '2.0', generator: 'Dyeworks bench' },
    scene: 0,
    scenes: [{ nodes: Array.from({ length: parts }, (_, i) => i) }],
    nodes: Array.from({ length: parts }, (_, i) => ({ mesh: i, translation: [i * 1.1, 0, 0] })),
    materials: Array.from({ length: slots }, (_, i) => ({ name: `part ${i + 1}` })),
    meshes: [],
    accessors: [],
    bufferViews: [],
    buffers: [],
  };
  const vertexBytes = side * side * each;
  const indexBytes = (side - 1) * (side - 1) * 24;
  let offset = 0;
  for (let part = 0; part < parts; part++) {
    const view = json.bufferViews!.push(
      { buffer: 0, byteOffset: offset, byteLength: vertexBytes, byteStride: each, target: 34962 },
      { buffer: 0, byteOffset: offset + vertexBytes, byteLength: indexBytes, target: 34963 },
    );
    const count = side * side;
    const first = json.accessors!.push(
      { bufferView: view - 2, componentType: 5126, count, type: 'VEC3', min: [0, -0.125, 0], max: [1, 0.125, 1] },
      { bufferView: view - 2, byteOffset: 12, componentType: 5126, count, type: 'VEC3' },
      { bufferView: view - 2, byteOffset: 24, componentType: 5126, count, type: 'VEC2' },
      { bufferView: view - 1, componentType: 5125, count: indexBytes / 4, type: 'SCALAR' },
    );
    const more = full
      ? json.accessors!.push(
          { bufferView: view - 2, byteOffset: 32, componentType: 5126, count, type: 'VEC4' },
          { bufferView: view - 2, byteOffset: 48, componentType: 5126, count, type: 'VEC2' },
        )
      : 0;
    json.meshes!.push({
      primitives: [
        {
          attributes: {
            POSITION: first - 4,
            NORMAL: first - 3,
            TEXCOORD_0: first - 2,
            ...(full ? { TANGENT: more - 2, TEXCOORD_1: more - 1 } : {}),
          },
          indices: first - 1,
          material: part % slots,
        },
      ],
    });
    offset += vertexBytes + indexBytes;
  }
  json.buffers = [{ byteLength: offset }];
  const bytes = Buffer.concat([makeVertices(side, each / 4), makeIndices(side)]);
  const file = await open(path, 'w');
  await file.write(makeHead(json, offset));
  for (let part = 0; part < parts; part++) await file.write(bytes);
  await file.sync();
  await file.close();
}

function makeVertices(side: number, floats: number): Buffer {
  const out = new Float32Array(side * side * floats);
  const last = side - 1;
  // the wave has whole periods along a quarter grid, so its bounds are reached where the accessor says
  for (let row = 0, at = 0; row < side; row++) {
    for (let column = 0; column < side; column++, at += floats) {
      const height =
        row === 0 && column === 0 ? -0.125 : row === 0 && column === 1 ? 0.125 : Math.sin(column * 0.01) * 0.1;
      out.set([column / last, height, row / last, 0, 1, 0, column / last, row / last], at);
      if (floats > 8) out.set([1, 0, 0, 1, column / last, row / last], at + 8);
    }
  }
  return Buffer.from(out.buffer);
}

function makeIndices(side: number): Buffer {
  const out = new Uint32Array((side - 1) * (side - 1) * 6);
  let at = 0;
  for (let row = 0; row < side - 1; row++) {
    for (let column = 0; column < side - 1; column++, at += 6) {
      const a = row * side + column;
      out.set([a, a + side, a + 1, a + 1, a + side, a + side + 1], at);
    }
  }
  return Buffer.from(out.buffer);
}
