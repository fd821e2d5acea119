import { MeshoptDecoder } from 'meshoptimizer';
import { Matrix4, type Mesh, type Object3D } from 'three';
import { GLTFLoader } from 'three/addons/loaders/GLTFLoader.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { bakePositions, dropNonFinite } from '../../../renderer/page/build-geometry.ts';
import { buildScene } from '../../../renderer/page/build-scene.ts';
import { createDocument } from '../../../renderer/page/gltf-document.ts';
import { createMaterialStore } from '../../../renderer/page/material-store.ts';
import { createAccessorReader } from '../../../renderer/page/read-accessor.ts';
import { createTextureStore } from '../../../renderer/page/texture-store.ts';
import type { GltfJson } from '../../../server/gltf/document/json.ts';
import { triangleGlb, triangleJson } from '../../support/bad-models.ts';
import { editGlb, readGlb } from '../../support/glb.ts';
import { indexedTriangle, listOddModels, makeRichModels, triangleOf } from '../../support/odd-models.ts';

const refuse = () => Promise.reject(new Error('needs a browser'));

async function build(glb: Buffer) {
  const { json, bin } = readGlb(glb);
  // A Buffer and its slices share bytes with others.
  const document = createDocument(json, { bin: new Uint8Array(bin) });
  const textures = createTextureStore(document, { decode: refuse, dispose: () => undefined });
  const draco = { decode: refuse, dispose: () => undefined };
  const source = { document, accessors: createAccessorReader(document), draco };
  const scene = await buildScene(source, createMaterialStore(document, textures));
  scene.root.updateMatrixWorld(true);
  return scene;
}

/** Corners of all triangles in the scene, mesh by mesh, metres. */
function listCorners(meshes: readonly Mesh[]): number[][] {
  return meshes.map((mesh) => {
    const baked = bakePositions(mesh, new Matrix4());
    const { index } = mesh.geometry;
    const { count } = mesh.geometry.getAttribute('position');
    const length = index?.count ?? count;
    const corners = Array.from({ length }, (_, at) => (index ? index.getX(at) : at));
    const instances = baked.length / 3 / count;
    return Array.from({ length: instances }, (_, instance) =>
      corners.flatMap((corner) => [
        ...baked.subarray((instance * count + corner) * 3, (instance * count + corner + 1) * 3),
      ]),
    ).flat();
  });
}

/** The corners of a file in the studio, without those that have no finite position. */
async function corners(glb: Buffer): Promise<number[][]> {
  const { parts } = await build(glb);
  return listCorners(parts.map(({ mesh }) => mesh).filter(dropNonFinite));
}

/** Without data that only a browser can decode. */
const bare = (glb: Buffer) =>
  editGlb(glb, (json) => {
    json.materials = json.materials?.map(({ name }) => ({ name }));
    for (const list of ['textures', 'images', 'samplers'] as const) delete json[list];
  });

describe('the scene of a file', () => {
  let rich: Record<string, Buffer>;
  beforeAll(async () => {
    rich = await makeRichModels();
  }, 60_000);

  // Compared with three's own loader, which the studio does not use for this.
  it.each(['plain', 'quantised', 'meshopt', 'meshopt with filters'])(
    'has the triangles and attributes that three’s loader reads, in its order: %s',
    async (kind) => {
      const glb = bare(rich[kind]!);
      const { scene } = await new GLTFLoader()
        .setMeshoptDecoder(MeshoptDecoder)
        .parseAsync(new Uint8Array(glb).buffer, '');
      scene.updateMatrixWorld(true);
      const theirs: Mesh[] = [];
      scene.traverse((node: Object3D) => (node as Mesh).isMesh && theirs.push(node as Mesh));
      const { parts, faults } = await build(glb);
      const ours = parts.map(({ mesh }) => mesh);
      expect(faults).toEqual([]);
      expect(ours).toHaveLength(theirs.length);
      expect(listCorners(ours)).toEqual(listCorners(theirs));
      ours.forEach((mesh, at) => {
        const [own, other] = [mesh.geometry.attributes, theirs[at]!.geometry.attributes];
        for (const name of Object.keys(own)) {
          const numbers = ({ geometry }: Mesh) => {
            const attribute = geometry.getAttribute(name);
            return Array.from({ length: attribute.count * attribute.itemSize }, (_, i) =>
              attribute.getComponent(Math.floor(i / attribute.itemSize), i % attribute.itemSize),
            );
          };
          expect(numbers(mesh), name).toEqual(numbers(theirs[at]!));
        }
        expect(Object.keys(other).filter((name) => !(name in own) && !name.startsWith('_'))).toEqual([]);
      });
    },
  );

  const TRIANGLE = [0, 0, 0, 1, 0, 0, 0, 1, 0];

  // glTF 2.0 §3.5.1 lets the viewer decide what to show of a file without scenes; §3.6.1.2: values without bytes are 0.
  it.each([
    ['no scene', TRIANGLE],
    ['no default scene', TRIANGLE],
    ['listed child', TRIANGLE.map((value) => value * 2)],
    ['deep chain', TRIANGLE],
    ['data URI', TRIANGLE],
    ['second buffer', TRIANGLE.map((value) => value * 2)],
    ['dangling targets', TRIANGLE],
    ['normals of two numbers', TRIANGLE.map((value) => value * 2)],
    ['attributes of other lengths', TRIANGLE.map((value) => value * 2)],
    ['positions without a view', new Array<number>(9).fill(0)],
    ['mirrored', [1, 2, 3, -1, 2, 3, 1, 3, 3]],
  ])('matches a viewer for an odd file: %s', async (name, expected) => {
    expect(await corners(listOddModels()[name]!)).toEqual([expected]);
  });

  it.each(['empty scene', 'no nodes', 'no primitives', 'points', 'lines', 'nothing at all'])(
    'is empty if a file draws no triangle: %s',
    async (name) => {
      expect(await corners(listOddModels()[name]!)).toEqual([]);
    },
  );

  it.each([
    ['no attributes', 'mesh 0, primitive 0: It has no positions.'],
    ['unreadable meshopt', 'mesh 0, primitive 0: A buffer view compressed with meshopt cannot be decoded.'],
  ])('names the unreadable part: %s', async (name, fault) => {
    const { parts, faults } = await build(listOddModels()[name]!);
    expect([parts.length, faults]).toEqual([0, [fault]]);
  });

  it('leaves out a primitive that cannot be read', async () => {
    const { accessors } = triangleJson() as unknown as GltfJson;
    const glb = triangleGlb({
      meshes: [{ primitives: [{ attributes: { POSITION: 1 } }, { attributes: { POSITION: 0 } }] }],
      accessors: [accessors![0], { ...accessors![0], count: 4 }],
    });
    const { parts, faults } = await build(glb);
    expect(parts.map(({ place }) => place)).toEqual([{ mesh: 0, primitive: 1, node: 0 }]);
    expect(faults).toEqual(['mesh 0, primitive 0: A buffer view ends before one of its accessors.']);
  });

  it('has each node once when nodes form a ring', async () => {
    const nodes = [
      { children: [1], mesh: 0 },
      { children: [0], mesh: 0, scale: [3, 3, 3] },
    ];
    expect(await corners(triangleGlb({ nodes }))).toEqual([TRIANGLE, TRIANGLE.map((value) => value * 3)]);
  });

  // three walks nodes by recursion, and a stack holds some ten thousand calls.
  it('keeps a chain of twenty thousand nodes', async () => {
    const length = 20_000;
    const nodes = Array.from({ length }, (_, at) =>
      at + 1 < length ? { children: [at + 1], translation: [0, 0, 1] } : { mesh: 0, scale: [2, 1, 1] },
    );
    const z = length - 1;
    expect(await corners(triangleGlb({ nodes }))).toEqual([[0, 0, z, 2, 0, z, 0, 1, z]]);
  });

  // KHR_node_visibility: a node is visible if it and all nodes above it are.
  it('leaves out hidden nodes and the nodes below them', async () => {
    const hidden = { KHR_node_visibility: { visible: false } };
    const shown = { KHR_node_visibility: { visible: true } };
    const nodes = [
      { children: [1, 2] },
      { mesh: 0, extensions: hidden, children: [3] },
      { mesh: 0, extensions: shown, scale: [3, 3, 3] },
      { mesh: 0, extensions: shown },
    ];
    expect(await corners(triangleGlb({ nodes }))).toEqual([TRIANGLE.map((value) => value * 3)]);
  });

  // glTF 2.0 §3.7.2.2: position + weight × displacement, here half the triangle itself.
  it('has morph targets at rest in every instance of a mesh', async () => {
    const { accessors } = triangleJson() as unknown as GltfJson;
    const glb = triangleGlb({
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, targets: [{ POSITION: 0 }] }], weights: [0.5] }],
      nodes: [{ mesh: 0, extensions: { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 1 } } } }],
      accessors: [accessors![0], { componentType: 5126, count: 2, type: 'VEC3' }],
    });
    const once = TRIANGLE.map((value) => value * 1.5);
    expect(await corners(glb)).toEqual([[...once, ...once]]);
  });

  it('leaves out a mesh that a few bytes repeat millions of times, and reports it', async () => {
    const { accessors } = triangleJson() as unknown as GltfJson;
    const glb = triangleGlb({
      nodes: [
        { mesh: 0, extensions: { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION: 1 } } }, children: [1] },
        { mesh: 0 },
      ],
      accessors: [accessors![0], { componentType: 5126, count: 20_000_000, type: 'VEC3' }],
    });
    const { parts, faults } = await build(glb);
    expect([parts.length, faults]).toEqual([1, ['mesh 0, primitive 0: It has more than 1 million instances.']]);
  });

  it('leaves out triangles with a missing corner', async () => {
    expect(await corners(indexedTriangle([0, 1, 7, 0, 1, 2, 65535, 2, 1]))).toEqual([TRIANGLE]);
  });

  it('leaves out triangles with a corner that has no finite position', async () => {
    const second = [0, 0, 1, Number.NaN, 0, 1, 0, Infinity, 1];
    const two = editGlb(triangleOf([...second, ...TRIANGLE]), (json) => {
      json.accessors![0]!.count = 6;
      json.bufferViews![0]!.byteLength = 72;
      json.buffers![0]!.byteLength = 72;
    });
    const { parts } = await build(two);
    const [{ mesh }] = parts as [(typeof parts)[0]];
    expect(dropNonFinite(mesh)).toBe(true);
    expect(listCorners([mesh])).toEqual([TRIANGLE]);
    // All vertices are measured for frame and shadow, drawn or not.
    expect(bakePositions(mesh, new Matrix4()).every(Number.isFinite)).toBe(true);
  });

  // Single precision ends at 3.4e38, and JSON's 1e999 is read as infinite.
  it.each([
    ['a scale of 1e306', { mesh: 0, scale: [1e306, 1, 1] }, [TRIANGLE.map((v, at) => (at === 3 ? 1 : v))]],
    ['a matrix of 1e38 twice over', { children: [1], scale: [1e38, 1e38, 1e38] }, []],
    ['a translation that is text', { mesh: 0, translation: ['1', 0, 0] }, [TRIANGLE]],
    ['a rotation of three numbers', { mesh: 0, rotation: [0, 0, 1] }, [TRIANGLE]],
  ])('is finite with %s', async (_, node, expected) => {
    expect(await corners(triangleGlb({ nodes: [node, { mesh: 0, scale: [1e38, 1e38, 1e38] }] }))).toEqual(expected);
  });
});
