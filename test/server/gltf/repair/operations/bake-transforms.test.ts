import type { Document } from '@gltf-transform/core';
import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { quantize } from '@gltf-transform/functions';
import { describe, expect, it } from 'vitest';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { addPart, createDocument } from '../../../../support/build-model.ts';
import { readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { measureInThree } from '../../../../support/measure-in-three.ts';
import { indexedTriangle } from '../../../../support/odd-models.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { makeRichModel } from '../../../../support/rich-model.ts';
import { surveyBytes } from '../../../../support/survey.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { countUnmatched, listWorldTriangles } from '../../../../support/world-triangles.ts';

// Transforms, winding and morph targets: glTF 2.0 §3.5.3, §3.7.2. World triangles are read by glTF-Transform, boxes by
// three.js, files judged by the Khronos validator.

const write = async (document: Document) => Buffer.from(await (await createIo()).writeBinary(document));
const bake = (bytes: Uint8Array) => repairBytes(bytes, [{ repair: 'bake-transforms' }]);

/** Same triangles in the same sense with the same normals, UVs and colours; valid; nothing left under a transform. */
async function expectBaked(before: Uint8Array, after: Uint8Array, off: number): Promise<void> {
  const [was, is] = [await listWorldTriangles(before), await listWorldTriangles(after)];
  expect(is).toHaveLength(was.length);
  expect(countUnmatched(was, is, { off })).toBe(0);
  expect(await listValidatorErrors(after)).toEqual([]);
  const { transforms } = (await surveyBytes(after)).survey;
  expect([transforms.unbaked.count, transforms.negative.count, transforms.uneven.count]).toEqual([0, 0, 0]);
}

/** Two meshes under turned, mirrored and uneven transforms, one of them drawn twice; with tangents. */
function makeTurned(): Document {
  const document = createDocument();
  const material = document.createMaterial('cloth');
  const sheet = addPart(document, { name: 'sheet', material, colours: true });
  addPart(document, { name: 'other', material });
  const [first, second] = document.getRoot().listScenes()[0]!.listChildren();
  const normal = sheet.listPrimitives()[0]!.getAttribute('NORMAL')!;
  const tangents = Array.from({ length: normal.getCount() * 4 }, (_, i) => (i % 4 === 0 || i % 4 === 3 ? 1 : 0));
  const tangent = document.createAccessor().setType('VEC4').setArray(new Float32Array(tangents));
  sheet.listPrimitives()[0]!.setAttribute('TANGENT', tangent.setBuffer(document.getRoot().listBuffers()[0]!));
  first!.setTranslation([1, 2, 3]).setRotation([0, 0.6, 0, 0.8]).setScale([-1, 2, 1]);
  second!.setScale([2, 2, 2]);
  const group = document.createNode('group').setRotation([0.6, 0, 0, 0.8]);
  group.addChild(document.createNode('again').setMesh(sheet).setTranslation([5, 0, 0]));
  document.getRoot().listScenes()[0]!.addChild(group);
  return document;
}

describe('bake-transforms', () => {
  it('looks the same, mirrored and uneven parts too; shared meshes are copied and empty nodes go', async () => {
    const source = await write(makeTurned());
    const { glb, reports } = await bake(source);
    await expectBaked(source, glb, 1e-5);
    const { json } = readGlb(glb);
    expect(json.nodes!.map(({ name }) => name)).toEqual(['sheet', 'other', 'again']);
    expect(json.scenes![0]!.nodes).toEqual([0, 1, 2]);
    for (const node of json.nodes!) expect(Object.keys(node).sort()).toEqual(['mesh', 'name']);
    expect(new Set(json.nodes!.map(({ mesh }) => mesh)).size).toBe(3);
    expect(reports[0]).toMatchObject({
      outcome: 'done',
      touchesGeometry: true,
      figures: { nodes: 3, mirrored: 1, meshesCopied: 1, nodesRemoved: 1 },
    });
    expect((await repairBytes(glb, [{ repair: 'bake-transforms' }])).reports[0]!.outcome).toBe('nothing-to-do');
  });

  it('turns tangents, whose bitangents follow the mirror', async () => {
    const source = await write(makeTurned());
    const document = await (await createIo()).readBinary((await bake(source)).glb);
    const mirrored = document.getRoot().listNodes()[0]!.getMesh()!.listPrimitives()[0]!;
    const [x, y, z, w] = mirrored.getAttribute('TANGENT')!.getElement(0, [0, 0, 0, 0]) as [
      number,
      number,
      number,
      number,
    ];
    // (1, 0, 0) under a scale of -1 in x and a turn about y by 2·atan(0.6/0.8), whose cosine is 0.28 and sine 0.96
    expect(x).toBeCloseTo(-0.28, 6);
    expect(y).toBeCloseTo(0, 6);
    expect(z).toBeCloseTo(0.96, 6);
    expect(w).toBe(-1);
  });

  it.each(['oculus-touch/right.glb', 'pico-4u/left.glb', 'magicleap-two/none.glb'])(
    'of %s (registry) moves no face of the box',
    async (path) => {
      const source = readRegistryModel(path);
      const { glb } = await bake(source);
      const [was, is] = [await measureInThree(source), await measureInThree(glb)];
      const extent = Math.max(...was.max.map((value, i) => value - was.min[i]!));
      for (const end of ['min', 'max'] as const) {
        is[end].forEach((value, axis) => {
          expect(Math.abs(value - was[end][axis]!)).toBeLessThan(extent * 1e-5);
        });
      }
      expect(await listValidatorErrors(glb)).toEqual(await listValidatorErrors(source));
      expect(glb.length).toBeLessThanOrEqual(source.length);
    },
  );

  it.each(['quantised', 'meshopt', 'Draco'] as const)('unpacks %s geometry and says so', async (how) => {
    const document = makeTurned();
    if (how === 'quantised') await document.transform(quantize({ quantizePosition: 16, quantizeNormal: 16 }));
    if (how === 'meshopt') document.createExtension(EXTMeshoptCompression).setRequired(true);
    if (how === 'Draco') document.createExtension(KHRDracoMeshCompression).setRequired(true);
    const source = await write(document);
    const { glb, reports } = await bake(source);
    await expectBaked(source, glb, 1e-4);
    const { json } = readGlb(glb);
    const { attributes } = json.meshes![0]!.primitives[0]!;
    expect(json.accessors![attributes.POSITION!]).toMatchObject({ componentType: 5126 });
    if (how === 'quantised') return;
    expect(json.extensionsUsed).toBeUndefined();
    expect(reports[0]!.message).toMatch(/unpacked compressed geometry: .* kB became .* kB/);
    // the compressed bytes are gone from the file
    expect((await surveyBytes(glb)).survey.unused.bytes).toBe(0);
  });

  it.each([5, 6])('writes strips and fans (mode %i) as triangles where a mirror turns them over', async (mode) => {
    const source = indexedTriangle([0, 1, 2, 0], mode, { nodes: [{ mesh: 0, scale: [-1, 1, 1] }] });
    const { glb } = await bake(source);
    await expectBaked(source, glb, 1e-6);
    expect(readGlb(glb).json.meshes![0]!.primitives[0]).not.toHaveProperty('mode');
  });

  it('bakes the deltas of morph targets: the target’s shape is where it was', async () => {
    const document = createDocument();
    const pane = addPart(document, { name: 'pane', material: null });
    const [node] = document.getRoot().listScenes()[0]!.listChildren();
    node!.setRotation([0, 0, Math.SQRT1_2, Math.SQRT1_2]).setScale([2, 2, 2]).setTranslation([1, 0, 0]);
    const primitive = pane.listPrimitives()[0]!;
    const bulge = Array.from({ length: primitive.getAttribute('POSITION')!.getCount() * 3 }, (_, i) =>
      i % 3 ? 0 : 0.5,
    );
    const delta = document.createAccessor().setType('VEC3').setArray(new Float32Array(bulge));
    primitive.addTarget(
      document.createPrimitiveTarget().setAttribute('POSITION', delta.setBuffer(document.getRoot().listBuffers()[0]!)),
    );
    pane.setWeights([1]);
    const source = await write(document);
    const { glb } = await bake(source);
    const [was, is] = [await measureInThree(source), await measureInThree(glb)];
    expect(is.min.map((value) => value.toFixed(5))).toEqual(was.min.map((value) => value.toFixed(5)));
    expect(is.max.map((value) => value.toFixed(5))).toEqual(was.max.map((value) => value.toFixed(5)));
    const { nodes } = readGlb(glb).json;
    expect(nodes).toEqual([{ name: 'pane', mesh: 0 }]);
  });

  it('bakes the deltas of normals: at weight 1 the normal is turned with the part', async () => {
    const document = createDocument();
    const pane = addPart(document, { name: 'pane', material: null });
    // a quarter about z takes +X to +Y
    document.getRoot().listNodes()[0]!.setRotation([0, 0, Math.SQRT1_2, Math.SQRT1_2]).setScale([3, 3, 3]);
    const primitive = pane.listPrimitives()[0]!;
    const normals = primitive.getAttribute('NORMAL')!;
    const toX = Array.from({ length: normals.getCount() }, () => [1, -1, 0]).flat();
    const delta = document.createAccessor().setType('VEC3').setArray(new Float32Array(toX));
    primitive.addTarget(
      document.createPrimitiveTarget().setAttribute('NORMAL', delta.setBuffer(document.getRoot().listBuffers()[0]!)),
    );
    pane.setWeights([0]);
    const { glb } = await bake(await write(document));
    const baked = (await (await createIo()).readBinary(glb)).getRoot().listMeshes()[0]!.listPrimitives()[0]!;
    const from = baked.getAttribute('NORMAL')!.getElement(0, [0, 0, 0]);
    const by = baked.listTargets()[0]!.getAttribute('NORMAL')!.getElement(0, [0, 0, 0]);
    [0, 1, 0].forEach((value, axis) => {
      expect(from[axis]! + by[axis]!).toBeCloseTo(value, 6);
    });
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('leaves what is skinned, instanced or moved by an animation, and says so', async () => {
    const source = await write(await makeRichModel());
    const { glb, reports } = await bake(source);
    expect(await listValidatorErrors(glb)).toEqual([]);
    expect(reports[0]!.message).toMatch(/Unchanged parts: .*animated/);
    const [was, is] = [await listWorldTriangles(source), await listWorldTriangles(glb)];
    expect(is).toHaveLength(was.length);
    expect(countUnmatched(was, is, { off: 1e-5 })).toBe(0);
    const before = readGlb(source).json;
    const after = readGlb(glb).json;
    const driven = (json: typeof before) =>
      json.animations![0]!.channels!.map(({ target }) => (json.nodes![target.node!] as { name: string }).name);
    expect(driven(after)).toEqual(driven(before));
    expect(after.skins).toHaveLength(1);
  });

  it('keeps nodes that carry something else: a camera, children that stay', async () => {
    const source = triangleGlb({
      nodes: [
        { name: 'Seat', mesh: 0, camera: 0, children: [1], scale: [2, 2, 2] },
        { name: 'Mark', extras: { a: 1 } },
      ],
      cameras: [{ type: 'perspective', perspective: { yfov: 1, znear: 0.1 } }],
    });
    const { glb } = await bake(source);
    const { json } = readGlb(glb);
    expect(json.nodes).toEqual([
      { name: 'Seat', camera: 0, children: [1], scale: [2, 2, 2] },
      { name: 'Mark', extras: { a: 1 } },
      { name: 'Seat', mesh: 0 },
    ]);
    expect(json.scenes).toEqual([{ nodes: [0, 2] }]);
    await expectBaked(source, glb, 1e-6);
  });

  it('asks before it moves what an extension nobody knows speaks of', async () => {
    const source = triangleGlb({
      extensionsUsed: ['ACME_hinges'],
      nodes: [{ mesh: 0, scale: [2, 2, 2], extensions: { ACME_hinges: { axis: [0, 1, 0] } } }],
    });
    const { reports } = await repairBytes(source, [{ repair: 'bake-transforms' }], 'lenient');
    expect(reports[0]).toMatchObject({ outcome: 'unfit', losses: ['ACME_hinges on 1 node or mesh'] });
    const { glb } = await repairBytes(source, [{ repair: 'bake-transforms', accept: true }]);
    await expectBaked(source, glb, 1e-6);
  });
});

// Thickness is stated in the space of the mesh, attenuation in that of the world: KhronosGroup/glTF,
// extensions/2.0/Khronos/KHR_materials_volume.

const glass = (nodes: object[]) =>
  triangleGlb({
    extensionsUsed: ['KHR_materials_volume', 'KHR_materials_transmission'],
    materials: [
      {
        name: 'Glass',
        extensions: {
          KHR_materials_transmission: { transmissionFactor: 1 },
          KHR_materials_volume: { thicknessFactor: 0.5, attenuationDistance: 3 },
        },
      },
    ],
    nodes,
    scenes: [{ nodes: [...nodes.keys()] }],
  });
const volumeOf = (glb: Buffer) => readGlb(glb).json.materials![0]!.extensions!.KHR_materials_volume;

describe('thickness, when transforms are baked,', () => {
  it('takes the scale that is baked, and attenuation does not', async () => {
    const { glb } = await repairBytes(glass([{ mesh: 0, scale: [2, 2, 2] }]), [{ repair: 'bake-transforms' }]);
    expect(volumeOf(glb)).toEqual({ thicknessFactor: 1, attenuationDistance: 3 });
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('takes the mean of an uneven scale by volume', async () => {
    const { glb } = await repairBytes(glass([{ mesh: 0, scale: [-1, 2, 4] }]), [{ repair: 'bake-transforms' }]);
    expect((volumeOf(glb) as { thicknessFactor: number }).thicknessFactor).toBeCloseTo(1, 9);
  });

  it('cannot follow two scales: that is asked about, and then it stays', async () => {
    const source = glass([{ mesh: 0, scale: [2, 2, 2] }, { mesh: 0 }]);
    await expect(repairBytes(source, [{ repair: 'bake-transforms' }])).rejects.toMatchObject({
      code: 'repair-would-lose',
    });
    const { glb, reports } = await repairBytes(source, [{ repair: 'bake-transforms', accept: true }]);
    expect(reports[0]!.losses).toEqual(['the correct thickness of “Glass”, which is used at several scales']);
    expect(volumeOf(glb)).toEqual({ thicknessFactor: 0.5, attenuationDistance: 3 });
  });
});
