import { type Material, NodeIO, type Primitive, type Texture } from '@gltf-transform/core';
import { createDocument, makeNoisePng } from './build-model.ts';
import { createRandom } from './random.ts';

/** Parts of the seat, in the order of its meshes: one primitive each. */
export const SEAT_PARTS = ['frame', 'inlay', 'stripe', 'cane', 'veil', 'net', 'cloth'] as const;

/** Parts with holes that let light through without a sharp edge. */
const BLENDED: readonly (typeof SEAT_PARTS)[number][] = ['veil', 'net'];

/** Finishes that each part can have besides its own material. */
export const SEAT_FINISHES = 3;

/** Material of the file for a part in a finish. */
export function seatMaterial(part: number, finish: number): number {
  return part * (SEAT_FINISHES + 1) + 1 + finish;
}

type Corner = readonly [number, number, number];

/**
 * A seat with all difficult cases for sums of layers: an inlay and a stripe in exactly the plane of the frame, masked
 * cane, a blended veil seen from both sides, a blended net that crosses it, and a thin cloth seen from behind. 0.5 m in
 * every direction, 18 triangles and as many materials as parts × (finishes + 1). A solid seat has no blended parts in
 * its scene.
 */
export async function makeLayeredSeat({ solid = false } = {}): Promise<Uint8Array> {
  const document = createDocument();
  const scene = document.getRoot().listScenes()[0]!;
  const random = createRandom(11);
  const holes = document
    .createTexture('holes')
    .setMimeType('image/png')
    .setImage((await makeNoisePng(5, 24, true)) as Uint8Array<ArrayBuffer>);
  const shapes: Record<(typeof SEAT_PARTS)[number], readonly Primitive[]> = {
    frame: [
      sheet([-0.25, 0.2, 0.25], [0.5, 0, 0], [0, 0, -0.5]),
      sheet([-0.25, 0, 0.25], [0.5, 0, 0], [0, 0.2, 0]),
      sheet([0.25, 0, 0.25], [0, 0, -0.5], [0, 0.2, 0]),
    ],
    // the first shares all corners with the frame, the second none
    inlay: [sheet([-0.25, 0, 0.25], [0.5, 0, 0], [0, 0.2, 0])],
    stripe: [sheet([-0.21, 0.2, 0.17], [0.37, 0, 0.02], [0.01, 0, -0.13])],
    cane: [sheet([-0.2, 0.2, -0.1], [0.4, 0, 0], [0, 0.3, 0])],
    veil: [sheet([-0.24, 0.1, 0.2], [0.4, 0, -0.3], [0, 0.35, 0])],
    net: [sheet([-0.2, 0.15, -0.2], [0.3, 0, 0.42], [0, 0.25, 0.05])],
    cloth: [sheet([0.2, 0.2, -0.2], [-0.3, 0, -0.05], [0, 0.3, 0.02])],
  };

  for (const part of SEAT_PARTS) {
    const materials = Array.from({ length: SEAT_FINISHES + 1 }, () => createMaterial(part));
    const mesh = document.createMesh(part);
    for (const primitive of joined(shapes[part])) mesh.addPrimitive(primitive.setMaterial(materials[0]!));
    const node = document.createNode(part).setMesh(mesh);
    if (!solid || !BLENDED.includes(part)) scene.addChild(node);
  }
  return new NodeIO().writeBinary(document);

  function createMaterial(part: (typeof SEAT_PARTS)[number]): Material {
    const alpha = part === 'veil' ? 0.7 : 1;
    const material = document
      .createMaterial(`${part}`)
      .setBaseColorFactor([random.next(), random.next() * 0.7, random.next(), alpha])
      .setRoughnessFactor(0.2 + random.next() * 0.7)
      .setMetallicFactor(random.whole(2));
    if (part === 'cane') material.setAlphaMode('MASK').setAlphaCutoff(0.45);
    if (BLENDED.includes(part)) material.setAlphaMode('BLEND');
    if (part !== 'frame' && part !== 'inlay') material.setDoubleSided(true);
    if (part === 'cane' || part === 'net') material.setBaseColorTexture(holes as Texture);
    return material;
  }

  function sheet(from: Corner, across: Corner, along: Corner): Primitive {
    const at = (u: number, v: number) => from.map((start, axis) => start + u * across[axis]! + v * along[axis]!);
    const uvs = [0, 0, 1, 0, 1, 1, 0, 1];
    const [a, b] = [across, along];
    const normal = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    const length = Math.hypot(...normal);
    const positions = [at(0, 0), at(1, 0), at(1, 1), at(0, 1)].flat();
    return document
      .createPrimitive()
      .setAttribute('POSITION', accessor('VEC3', new Float32Array(positions)))
      .setAttribute(
        'NORMAL',
        accessor('VEC3', new Float32Array([0, 1, 2, 3].flatMap(() => normal.map((n) => n / length)))),
      )
      .setAttribute('TEXCOORD_0', accessor('VEC2', new Float32Array(uvs)))
      .setIndices(accessor('SCALAR', new Uint16Array([0, 1, 2, 0, 2, 3])));
  }

  function accessor(type: 'VEC2' | 'VEC3' | 'SCALAR', array: Float32Array | Uint16Array) {
    return document.createAccessor().setType(type).setArray(array).setBuffer(document.getRoot().listBuffers()[0]!);
  }

  /** One primitive for a part: its sheets follow one another. */
  function joined(primitives: readonly Primitive[]): readonly Primitive[] {
    if (primitives.length === 1) return primitives;
    const gather = (name: string) =>
      new Float32Array(primitives.flatMap((primitive) => [...primitive.getAttribute(name)!.getArray()!]));
    const whole = document
      .createPrimitive()
      .setAttribute('POSITION', accessor('VEC3', gather('POSITION')))
      .setAttribute('NORMAL', accessor('VEC3', gather('NORMAL')))
      .setAttribute('TEXCOORD_0', accessor('VEC2', gather('TEXCOORD_0')))
      .setIndices(
        accessor('SCALAR', new Uint16Array(primitives.flatMap((_, n) => [0, 1, 2, 0, 2, 3].map((i) => i + n * 4)))),
      );
    for (const primitive of primitives) primitive.dispose();
    return [whole];
  }
}
