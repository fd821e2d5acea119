import type { Document, Material, Node } from '@gltf-transform/core';

/** A surface from a grid of rows and columns of points; UVs run from 0 to 1 along both. */
export interface Solid {
  readonly positions: Float32Array<ArrayBuffer>;
  readonly uvs: Float32Array<ArrayBuffer>;
  readonly indices: Uint32Array<ArrayBuffer>;
}

type Point = readonly [number, number, number];

export function makeGrid(rows: number, columns: number, at: (u: number, v: number) => Point): Solid {
  const positions: number[] = [];
  const uvs: number[] = [];
  const indices: number[] = [];
  for (let row = 0; row <= rows; row++) {
    for (let column = 0; column <= columns; column++) {
      const [u, v] = [column / columns, row / rows];
      positions.push(...at(u, v));
      uvs.push(u, v);
      if (row === rows || column === columns) continue;
      const a = row * (columns + 1) + column;
      indices.push(a, a + 1, a + columns + 1, a + 1, a + columns + 2, a + columns + 1);
    }
  }
  return {
    positions: new Float32Array(positions),
    uvs: new Float32Array(uvs),
    indices: new Uint32Array(indices),
  };
}

/** A cube of edge `size`. Each face is a square with its own UVs from 0 to 1; faces share only their positions. */
export function makeCube(size: number): Solid {
  const faces: [Point, Point, Point][] = [
    [
      [0, 0, 1],
      [1, 0, 0],
      [0, 1, 0],
    ],
    [
      [1, 0, 0],
      [-1, 0, 0],
      [0, 1, 0],
    ],
    [
      [0, 0, 0],
      [0, 0, 1],
      [0, 1, 0],
    ],
    [
      [1, 0, 1],
      [0, 0, -1],
      [0, 1, 0],
    ],
    [
      [0, 1, 1],
      [1, 0, 0],
      [0, 0, -1],
    ],
    [
      [0, 0, 0],
      [1, 0, 0],
      [0, 0, 1],
    ],
  ];
  const parts = faces.map(([o, s, t]) =>
    makeGrid(1, 1, (u, v) => [0, 1, 2].map((i) => (o[i]! + s[i]! * u + t[i]! * v) * size) as unknown as Point),
  );
  return joinSolids(parts);
}

export function joinSolids(parts: readonly Solid[]): Solid {
  const indices: number[] = [];
  let base = 0;
  for (const part of parts) {
    for (const index of part.indices) indices.push(base + index);
    base += part.positions.length / 3;
  }
  return {
    positions: new Float32Array(parts.flatMap((part) => [...part.positions])),
    uvs: new Float32Array(parts.flatMap((part) => [...part.uvs])),
    indices: new Uint32Array(indices),
  };
}

/** Adds a solid to a document's scene. */
export function addSolid(document: Document, name: string, solid: Solid, material: Material | null): Node {
  const root = document.getRoot();
  const buffer = root.listBuffers()[0] ?? document.createBuffer();
  const scene = root.listScenes()[0] ?? document.createScene();
  const accessor = (type: 'VEC2' | 'VEC3' | 'SCALAR', array: Float32Array<ArrayBuffer> | Uint32Array<ArrayBuffer>) =>
    document.createAccessor().setType(type).setArray(array).setBuffer(buffer);
  const primitive = document
    .createPrimitive()
    .setAttribute('POSITION', accessor('VEC3', solid.positions))
    .setAttribute('TEXCOORD_0', accessor('VEC2', solid.uvs))
    .setIndices(accessor('SCALAR', solid.indices))
    .setMaterial(material);
  const node = document.createNode(name).setMesh(document.createMesh(name).addPrimitive(primitive));
  scene.addChild(node);
  return node;
}

/** Sum of the triangles' areas by Heron's formula, from the edges alone. */
export function sumHeron({ positions, indices }: Solid): number {
  let sum = 0;
  for (let t = 0; t < indices.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((edge) => {
      const from = indices[t + edge]! * 3;
      const to = indices[t + ((edge + 1) % 3)]! * 3;
      return Math.hypot(...[0, 1, 2].map((axis) => positions[from + axis]! - positions[to + axis]!));
    }) as [number, number, number];
    const s = (a + b + c) / 2;
    sum += Math.sqrt(Math.max(0, s * (s - a) * (s - b) * (s - c)));
  }
  return sum;
}
