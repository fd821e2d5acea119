import { Document } from '@gltf-transform/core';
import { EXTMeshoptCompression } from '@gltf-transform/extensions';
import { describe, expect, it } from 'vitest';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { triangleGlb } from '../../../support/bad-models.ts';
import { editGlb, makeGlb } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { addSolid, makeCube, makeGrid, type Solid } from '../../../support/make-solid.ts';
import { surveyBytes, surveyDocument } from '../../../support/survey.ts';

const place = (solid: Solid, ...nodes: { at?: number[]; scale?: number }[]) => {
  const document = new Document();
  const first = addSolid(document, 'part', solid, document.createMaterial('m'));
  for (const [i, { at = [0, 0, 0], scale = 1 }] of nodes.entries()) {
    const node = i === 0 ? first : document.createNode(`part ${i}`).setMesh(first.getMesh());
    node.setTranslation(at as [number, number, number]).setScale([scale, scale, scale]);
    document.getRoot().listScenes()[0]!.addChild(node);
  }
  return document;
};

describe('a scene', () => {
  // By definition: what stands elsewhere is no larger, and has the same joints.
  it('far from the zero point measures as one about it', async () => {
    const ball = makeGrid(24, 48, (u, v) => [
      Math.sin(Math.PI * v) * Math.cos(2 * Math.PI * u),
      Math.cos(Math.PI * v),
      Math.sin(Math.PI * v) * Math.sin(2 * Math.PI * u),
    ]);
    const near = await surveyDocument(place(ball, {}));
    const far = await surveyDocument(place(ball, { at: [5000.25, -300, 7000.75] }));
    expect(far.survey.counts.pieces).toBe(1);
    expect(far.pieces[0]!.piece).toBe(near.pieces[0]!.piece);
    expect(Math.abs(far.survey.materials[0]!.areaM2 / near.survey.materials[0]!.areaM2 - 1)).toBeLessThan(1e-6);
    expect(far.pieces[0]!.box.max[0]! - far.pieces[0]!.box.min[0]!).toBeCloseTo(2, 6);
    expect(far.pieces[0]!.box.max[1]).toBeCloseTo(-299, 6);
  });

  it('counts every instance: areas by each one’s scale, UVs of all, no overlap between them', async () => {
    const sheet = makeGrid(4, 4, (u, v) => [u, v, 0]);
    const { survey, pieces } = await surveyDocument(place(sheet, {}, { at: [2, 0, 0], scale: 3 }));
    expect(pieces.map(({ areaM2 }) => areaM2)).toEqual([expect.closeTo(9, 6), expect.closeTo(1, 6)]);
    const { areaM2, metresPerUv, uv } = survey.materials[0]!;
    expect(areaM2).toBeCloseTo(10, 6);
    // nine of ten square metres have three to the unit
    expect(metresPerUv).toBeCloseTo(3, 6);
    expect(uv).toMatchObject({ coverage: 1, overlap: 0 });
  });

  it('is as large as its positions, whatever bounds the file states', async () => {
    const bytes = await (await createIo()).writeBinary(place(makeCube(0.5), {}));
    const lying = editGlb(bytes, (json) => {
      for (const accessor of json.accessors!) if (accessor.type === 'VEC3') accessor.max = [50, 50, 50];
    });
    expect((await surveyBytes(lying)).survey.size).toEqual({ widthMm: 500, depthMm: 500, heightMm: 500 });
  });

  it('has vertices nothing uses in its size but not in the ids of its pieces', async () => {
    const cube = makeCube(0.5);
    const stray = { ...cube, positions: new Float32Array([...cube.positions, 0.7, 0.9, 0.8]) };
    stray.uvs = new Float32Array([...cube.uvs, 0, 0]);
    const [clean, strewn] = [await surveyDocument(place(cube, {})), await surveyDocument(place(stray, {}))];
    expect(strewn.pieces[0]!.piece).toBe(clean.pieces[0]!.piece);
    expect(strewn.survey.size!.heightMm).toBe(900);
  });
});

describe('a skin', () => {
  const makeSkinned = (compressed: boolean) => {
    const document = place(
      makeGrid(4, 4, (u, v) => [u * 100, v * 100, 0]),
      { at: [7, 7, 7] },
    );
    const [node] = document.getRoot().listNodes();
    const [buffer] = document.getRoot().listBuffers();
    const primitive = node!.getMesh()!.listPrimitives()[0]!;
    const count = primitive.getAttribute('POSITION')!.getCount();
    const accessor = () => document.createAccessor().setBuffer(buffer!);
    const weights = new Float32Array(count * 4).map((_, i) => (i % 4 === 0 ? 1 : 0));
    primitive.setAttribute(
      'JOINTS_0',
      accessor()
        .setType('VEC4')
        .setArray(new Uint8Array(count * 4)),
    );
    primitive.setAttribute('WEIGHTS_0', accessor().setType('VEC4').setArray(weights));
    // an armature in centimetres, bound half a metre up
    const joint = document.createNode('joint').setScale([0.01, 0.01, 0.01]);
    const inverse = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, -50, 0, 1];
    const skin = document.createSkin().addJoint(joint);
    skin.setInverseBindMatrices(accessor().setType('MAT4').setArray(new Float32Array(inverse)));
    node!.setSkin(skin);
    document.getRoot().listScenes()[0]!.addChild(joint);
    if (compressed) document.createExtension(EXTMeshoptCompression).setRequired(true);
    return document;
  };

  // glTF 2.0 §3.7.3.3: joint × inverse bind matrix places a vertex, and the node's own transform does not.
  it.each([
    ['plain', false],
    ['compressed', true],
  ] as const)('stands where its joints have it: %s', async (_, compressed) => {
    const { survey } = await surveyDocument(makeSkinned(compressed));
    expect(survey.box!.min.map((value) => Math.round(value * 1e5) / 1e5)).toEqual([0, -0.5, 0]);
    expect(survey.box!.max.map((value) => Math.round(value * 1e5) / 1e5)).toEqual([1, 0.5, 0]);
    const { areaM2, metresPerUv } = survey.materials[0]!;
    expect(areaM2).toBeCloseTo(1, 5);
    expect(metresPerUv).toBeCloseTo(1, 5);
    expect(survey.counts.skins).toBe(1);
    expect(survey.transforms.unbaked.count).toBe(0);
  });
});

describe('positions that are zeros with sparse values put in', () => {
  // glTF 2.0 §3.6.2.3: without a buffer view an accessor is zeros, which sparse values replace.
  it('are read as such', async () => {
    const bin = Buffer.alloc(44);
    bin.writeUInt16LE(1, 0);
    bin.writeUInt16LE(2, 2);
    Buffer.from(new Float32Array([2, 0, 0, 0, 3, 0]).buffer).copy(bin, 4);
    const json = {
      asset: { version: '2.0' },
      scenes: [{ nodes: [0] }],
      scene: 0,
      nodes: [{ mesh: 0 }],
      materials: [{ name: 'Seat' }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, material: 0 }] }],
      accessors: [
        {
          componentType: 5126,
          count: 3,
          type: 'VEC3',
          min: [0, 0, 0],
          max: [2, 3, 0],
          sparse: {
            count: 2,
            indices: { bufferView: 0, componentType: 5123 },
            values: { bufferView: 1 },
          },
        },
      ],
      bufferViews: [
        { buffer: 0, byteLength: 4 },
        { buffer: 0, byteOffset: 4, byteLength: 24 },
      ],
      buffers: [{ byteLength: 44 }],
    };
    const { survey } = await surveyBytes(makeGlb(json, bin));
    expect(survey.faults).toEqual([]);
    expect(survey.materials[0]!.areaM2).toBeCloseTo(3, 9);
  });
});

describe('a few bytes that ask for more than memory', () => {
  const turned = { rotation: [0, Math.SQRT1_2, 0, Math.SQRT1_2] };
  const accessor = (count: number) => ({ componentType: 5126, count, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 1] });

  it('in positions without bytes are not readable, and drawn by nobody', async () => {
    const more = { accessors: [accessor(1e15)], nodes: [{ mesh: 0, ...turned }] };
    const { survey, pieces } = await surveyBytes(triangleGlb(more));
    expect(survey.faults).toEqual([{ fault: 'not-readable', count: 1, where: '/meshes/0/primitives/0' }]);
    expect(pieces).toEqual([]);
  });

  it('in instances are refused with what to do', async () => {
    const { survey } = await surveyBytes(triangleGlb());
    expect(survey.counts.pieces).toBe(1);
    const document = place(
      makeGrid(300, 300, (u, v) => [u, v, 0]),
      {},
    );
    const bytes = await (await createIo()).writeBinary(document);
    const crowd = editGlb(bytes, (json: GltfJson) => {
      json.nodes = Array.from({ length: 1000 }, () => ({ mesh: 0 }));
      json.scenes![0]!.nodes = [...json.nodes.keys()];
    });
    await expect(surveyBytes(crowd)).rejects.toMatchObject({ code: 'model-too-complex' });
  });

  it.each([
    ['more vertices than memory holds', 300, 1000],
    ['more copies than that', 1, 20_000_000],
  ])('in a mesh that its node repeats are refused, too: %s', async (_, cells, copies) => {
    const document = place(
      makeGrid(cells, cells, (u, v) => [u, v, 0]),
      {},
    );
    const crowd = editGlb(await (await createIo()).writeBinary(document), (json: GltfJson) => {
      const TRANSLATION = json.accessors!.push({ componentType: 5126, count: copies, type: 'VEC3' }) - 1;
      json.nodes![0]!.extensions = { EXT_mesh_gpu_instancing: { attributes: { TRANSLATION } } };
      json.extensionsUsed = ['EXT_mesh_gpu_instancing'];
    });
    await expect(surveyBytes(crowd)).rejects.toMatchObject({ code: 'model-too-complex' });
  });
});

describe('very many loose triangles', () => {
  it('are counted and measured all, and the largest are named', async () => {
    const count = 120_000;
    const positions = new Float32Array(count * 9);
    for (let t = 0; t < count; t++) {
      const [x, y] = [t % 400, Math.floor(t / 400)];
      // the last is the largest
      const edge = t === count - 1 ? 0.8 : 0.5;
      positions.set([x, y, 0, x + edge, y, 0, x, y + edge, 0], t * 9);
    }
    const json = {
      asset: { version: '2.0' },
      scenes: [{ nodes: [0] }],
      nodes: [{ mesh: 0 }],
      materials: [{ name: 'leaves' }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, material: 0 }] }],
      accessors: [{ bufferView: 0, componentType: 5126, count: count * 3, type: 'VEC3' }],
      bufferViews: [{ buffer: 0, byteLength: positions.byteLength }],
      buffers: [{ byteLength: positions.byteLength }],
    };
    const { survey, pieces } = await surveyBytes(makeGlb(json, Buffer.from(positions.buffer)));
    expect(survey.counts.pieces).toBe(count);
    expect(survey.materials[0]).toMatchObject({ pieces: count });
    expect(survey.materials[0]!.areaM2).toBeCloseTo((count - 1) * 0.125 + 0.32, 3);
    expect(pieces).toHaveLength(20_000);
    // at 400 m single precision tells 30 µm
    expect(pieces[0]!.areaM2).toBeCloseTo(0.32, 4);
  });
});
