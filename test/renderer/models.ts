import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Document, type Material, NodeIO } from '@gltf-transform/core';
import { KHRMaterialsClearcoat } from '@gltf-transform/extensions';
import type { StudioFile } from '../../server/core/ports/renderer.ts';

type Triple = readonly [number, number, number];

/** A finish kit of one plain material; colours are linear. */
export function writeFinishGlb(colour: Triple, roughness = 1, metalness = 0): Promise<Uint8Array> {
  const document = new Document();
  document.createBuffer();
  addMaterial(document, colour, roughness).setMetallicFactor(metalness);
  return new NodeIO().writeBinary(document);
}

/** A kit whose colour map is not an image. */
export function makeBrokenKit(): Promise<Uint8Array> {
  const document = new Document();
  document.createBuffer();
  const texture = document
    .createTexture('broken')
    .setMimeType('image/png')
    .setImage(new Uint8Array([1, 2, 3, 4]));
  document.createMaterial('broken').setBaseColorTexture(texture);
  return new NodeIO().writeBinary(document);
}

/**
 * Two boxes on the floor, one on top of the other and turned a little: mesh 0 and mesh 1, 0.4 m high together. In the
 * file, both have material 0; the `finishes` follow as 1, 2, …
 */
export function makeBoxes(finishes: readonly Triple[]): Promise<Uint8Array> {
  return new NodeIO().writeBinary(createBoxes(finishes));
}

/** The boxes. The upper one has a material with a coat, named Lacquer. */
export function makeCoatedBoxes(): Promise<Uint8Array> {
  const document = createBoxes([]);
  const coat = document.createExtension(KHRMaterialsClearcoat).createClearcoat().setClearcoatFactor(1);
  const lacquer = addMaterial(document, [0.2, 0.3, 0.4], 0.4).setName('Lacquer');
  lacquer.setExtension(KHRMaterialsClearcoat.EXTENSION_NAME, coat);
  document.getRoot().listMeshes()[1]!.listPrimitives()[0]!.setMaterial(lacquer);
  return new NodeIO().registerExtensions([KHRMaterialsClearcoat]).writeBinary(document);
}

function createBoxes(finishes: readonly Triple[]): Document {
  const document = new Document();
  const own = addMaterial(document, [0.5, 0.5, 0.5], 0.6);
  for (const finish of finishes) addMaterial(document, finish, 0.4);
  const scene = document.createScene();
  for (const [name, height, turn] of [
    ['lower', 0, 0],
    ['upper', 0.2, 0.3],
  ] as const) {
    const mesh = document.createMesh(name).addPrimitive(createBox(document, own));
    const node = document.createNode(name).setMesh(mesh).setTranslation([0, height, 0]);
    scene.addChild(node.setRotation([0, Math.sin(turn / 2), 0, Math.cos(turn / 2)]));
  }
  return document;
}

/** A scene without a triangle. */
export function makeEmpty(): Promise<Uint8Array> {
  const document = new Document();
  document.createBuffer();
  document.createScene().addChild(document.createNode('nothing'));
  return new NodeIO().writeBinary(document);
}

/** Files on disk for one test file. */
export function createModelFolder(): { write(key: string, bytes: Uint8Array): StudioFile; remove(): void } {
  const folder = mkdtempSync(join(tmpdir(), 'studio-models-'));
  return {
    write(key, bytes) {
      const path = join(folder, `${key}.glb`);
      writeFileSync(path, bytes);
      return { key, path };
    },
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}

function addMaterial(document: Document, [red, green, blue]: Triple, roughness: number): Material {
  return document
    .createMaterial()
    .setBaseColorFactor([red, green, blue, 1])
    .setRoughnessFactor(roughness)
    .setMetallicFactor(0);
}

/** A box that stands on y = 0; width, height and depth in metres. */
export function createBox(document: Document, material: Material, [width, height, depth]: Triple = [0.2, 0.2, 0.2]) {
  const buffer = document.getRoot().listBuffers()[0] ?? document.createBuffer();
  const [positions, normals, indices]: [number[], number[], number[]] = [[], [], []];
  for (const axis of [0, 1, 2]) {
    for (const side of [-1, 1]) {
      const first = positions.length / 3;
      for (const [a, b] of [
        [-1, -1],
        [1, -1],
        [1, 1],
        [-1, 1],
      ] as const) {
        const corner = [0, 0, 0];
        corner[axis] = side;
        corner[(axis + 1) % 3] = a * side;
        corner[(axis + 2) % 3] = b;
        positions.push((corner[0]! * width) / 2, ((corner[1]! + 1) * height) / 2, (corner[2]! * depth) / 2);
        normals.push(...[0, 1, 2].map((index) => (index === axis ? side : 0)));
      }
      indices.push(...[0, 1, 2, 0, 2, 3].map((index) => first + index));
    }
  }
  const accessor = (type: 'VEC3' | 'SCALAR', array: Float32Array | Uint16Array) =>
    document
      .createAccessor()
      .setType(type)
      .setArray(array as never)
      .setBuffer(buffer);
  return document
    .createPrimitive()
    .setMaterial(material)
    .setAttribute('POSITION', accessor('VEC3', new Float32Array(positions)))
    .setAttribute('NORMAL', accessor('VEC3', new Float32Array(normals)))
    .setIndices(accessor('SCALAR', new Uint16Array(indices)));
}
