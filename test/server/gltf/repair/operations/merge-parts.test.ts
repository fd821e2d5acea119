// Long because merging meets every kind of part: quantised, compressed, skinned, morphing, instanced, lit and unknown.
import type { Document, Node, Primitive } from '@gltf-transform/core';
import {
  EXTMeshGPUInstancing,
  EXTMeshoptCompression,
  KHRDracoMeshCompression,
  KHRLightsPunctual,
  KHRMaterialsVariants,
} from '@gltf-transform/extensions';
import { describe, expect, it } from 'vitest';
import { addPart, createDocument, createSheet } from '../../../../support/build-model.ts';
import { editGlb, materialsByVariant, readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { openInBabylon } from '../../../../support/open-in-babylon.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { CHAIR_PARTS, makeSupplierChair } from '../../../../support/supplier-chair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';
import { countUnmatched, listWorldTriangles, sumArea } from '../../../../support/world-triangles.ts';

// Modes, transforms and attributes: glTF 2.0 §3.5.3, §3.7.2. World triangles are read by glTF-Transform, triangles counted
// by Babylon.js, and files judged by the Khronos validator.

const MERGE = { repair: 'merge-parts' } as const;

const write = async (document: Document) => (await createIo()).writeBinary(document);
const merge = async (document: Document) => repairBytes(await write(document), [MERGE]);

/** Same triangles, there and back, in the same sense, with the same normals, UVs and colours; valid; counted alike. */
async function expectSameLook(before: Uint8Array, after: Uint8Array, off: number): Promise<void> {
  const [was, is] = [await listWorldTriangles(before), await listWorldTriangles(after)];
  expect(is).toHaveLength(was.length);
  expect(countUnmatched(was, is, { off })).toBe(0);
  expect(countUnmatched(is, was, { off })).toBe(0);
  expect(sumArea(is) / sumArea(was)).toBeCloseTo(1, 5);
  expect(await listValidatorErrors(after)).toEqual([]);
}

async function countInBabylon(bytes: Uint8Array): Promise<number> {
  const opened = await openInBabylon(bytes);
  try {
    return opened.countTriangles();
  } finally {
    opened.close();
  }
}

describe('a chair of 569 loose parts', () => {
  it('becomes one mesh of one draw that looks the same', async () => {
    const chair = await makeSupplierChair({ scale: 0.01 });
    const { glb, reports } = await repairBytes(chair, [MERGE]);
    await expectSameLook(chair, glb, 1e-5);
    const { json } = readGlb(glb);
    expect(json.nodes).toEqual([{ name: 'chair', mesh: 0 }]);
    expect(json.meshes).toHaveLength(1);
    expect(json.meshes![0]!.primitives).toHaveLength(1);
    expect(json.accessors).toHaveLength(4);
    expect(reports[0]).toMatchObject({
      outcome: 'done',
      touchesGeometry: true,
      figures: { partsBefore: CHAIR_PARTS, drawsBefore: CHAIR_PARTS, drawsAfter: 1 },
    });
    expect(await countInBabylon(glb)).toBe(await countInBabylon(chair));
    expect(await countInBabylon(glb)).toBe(reports[0]!.figures.triangles);
  });

  it('has nothing to merge afterwards, and merges to the same bytes every time', async () => {
    const chair = await makeSupplierChair({ scale: 0.01 });
    const { glb, sha256 } = await repairBytes(chair, [MERGE]);
    expect((await repairBytes(chair, [MERGE])).sha256).toBe(sha256);
    const again = await repairBytes(glb, [MERGE]);
    expect(again.reports[0]!.outcome).toBe('nothing-to-do');
    expect(again.sha256).toBe(sha256);
  });
});

describe('parts of every kind', () => {
  /** A sheet whose node turns and scales it unevenly. */
  function place(document: Document, name: string, primitive: Primitive, node: Partial<Placement> = {}): Node {
    const placed = document.createNode(name).setMesh(document.createMesh(name).addPrimitive(primitive));
    const { at = [0, 0, 0], turn = [0, 0, 0, 1], scale = [1, 1, 1] } = node;
    document.getRoot().listScenes()[0]!.addChild(placed.setTranslation(at).setRotation(turn).setScale(scale));
    return placed;
  }
  interface Placement {
    readonly at: [number, number, number];
    readonly turn: [number, number, number, number];
    readonly scale: [number, number, number];
  }

  it('are baked with their transforms: mirrored, uneven, nested, shared', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    const turn: Placement['turn'] = [0.2, 0.4, -0.1, Math.sqrt(1 - 0.21)];
    const mesh = addPart(document, { name: 'plain', material });
    place(document, 'mirrored', createSheet(document, { name: '', material }), { scale: [-1, 1, 1], at: [2, 0, 0] });
    place(document, 'uneven', createSheet(document, { name: '', material }), { scale: [1, 3, 0.5], turn });
    const group = document.createNode('group').setTranslation([0, 5, 0]).setScale([2, -2, 2]).setRotation(turn);
    document.getRoot().listScenes()[0]!.addChild(group);
    for (let i = 0; i < 3; i++)
      group.addChild(document.createNode(`copy ${i}`).setMesh(mesh).setTranslation([i, 0, 0]));
    const { glb, reports } = await merge(document);
    await expectSameLook(await write(document), glb, 1e-5);
    expect(reports[0]!.figures).toMatchObject({ partsBefore: 6, drawsBefore: 6, drawsAfter: 1, vertices: 6 * 25 });
    expect(readGlb(glb).json.nodes).toEqual([{ name: 'product', mesh: 0 }]);
  });

  it('are written out as indexed triangles: strips, fans, lists without indices', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    const buffer = document.getRoot().listBuffers()[0]!;
    const vectors = (values: number[]) =>
      document.createAccessor().setType('VEC3').setArray(new Float32Array(values)).setBuffer(buffer);
    const points = [0, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0, 0, 2, 0.5, 1, 2, 0.2];
    const fan = [0, 0, 0, 1, 0, 0, 1, 1, 0, 0.5, 1.5, 0, 0, 1, 0, -0.5, 0.5, 0];
    for (const [i, [mode, values]] of (
      [
        [5, points],
        [6, fan],
        [4, points],
      ] as const
    ).entries()) {
      const normals = values.map((_, at) => (at % 3 === 2 ? 1 : 0));
      const primitive = document.createPrimitive().setMode(mode).setMaterial(material);
      primitive.setAttribute('POSITION', vectors([...values])).setAttribute('NORMAL', vectors(normals));
      place(document, `mode ${mode}`, primitive, { at: [i * 3, 0, 0] });
    }
    const { glb, reports } = await merge(document);
    await expectSameLook(await write(document), glb, 1e-6);
    expect(reports[0]!.figures.triangles).toBe(4 + 4 + 2);
    expect(readGlb(glb).json.meshes![0]!.primitives[0]).not.toHaveProperty('mode');
  });

  it('get what others of the material have: UVs of 0, white, and flat normals', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    addPart(document, { name: 'coloured', material, colours: true });
    addPart(document, { name: 'no uvs', material, uv: false });
    place(document, 'no normals', createSheet(document, { name: '', material }).setAttribute('NORMAL', null), {
      at: [0, 1, 0],
      scale: [1, 1, -1],
    });
    const { glb, reports } = await merge(document);
    await expectSameLook(await write(document), glb, 1e-5);
    // two sheets share their vertices, the flat one has three a triangle
    expect(reports[0]!.figures.vertices).toBe(25 + 25 + 3 * 32);
  });

  it('stay without normals, and share their vertices, where none has any', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b']) {
      place(document, name, createSheet(document, { name, material }).setAttribute('NORMAL', null));
    }
    const { glb, reports } = await merge(document);
    expect(readGlb(glb).json.meshes![0]!.primitives[0]!.attributes).not.toHaveProperty('NORMAL');
    expect(reports[0]!.figures.vertices).toBe(50);
  });

  it('take vertices along only as far as triangles use them', async () => {
    const document = createDocument();
    const [cloth, wood] = [document.createMaterial('cloth'), document.createMaterial('wood')];
    const whole = createSheet(document, { name: '', material: cloth });
    const indices = [...whole.getIndices()!.getArray()!];
    const part = (from: number, to: number) =>
      document
        .createAccessor()
        .setType('SCALAR')
        .setArray(new Uint16Array(indices.slice(from * 3, to * 3)))
        .setBuffer(document.getRoot().listBuffers()[0]!);
    const mesh = document.createMesh('sheet').addPrimitive(whole.setIndices(part(0, 8)));
    mesh.addPrimitive(whole.clone().setIndices(part(8, 32)).setMaterial(wood));
    for (const x of [0, 2]) {
      document
        .getRoot()
        .listScenes()[0]!
        .addChild(document.createNode().setMesh(mesh).setTranslation([x, 0, 0]));
    }
    const { glb, reports } = await merge(document);
    await expectSameLook(await write(document), glb, 1e-6);
    // a row of four cells has ten vertices, three rows have twenty
    expect(reports[0]!.figures).toMatchObject({ drawsBefore: 4, drawsAfter: 2, vertices: 2 * (10 + 20) });
  });

  it('are written with 32-bit indices where 16 do not do', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b']) addPart(document, { name, material, cells: 200 });
    const { glb } = await merge(document);
    const { json } = readGlb(glb);
    expect(json.accessors![json.meshes![0]!.primitives[0]!.indices!]).toMatchObject({
      componentType: 5125,
      count: 2 * 200 * 200 * 6,
    });
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it.each([
    ['meshopt', EXTMeshoptCompression, { method: EXTMeshoptCompression.EncoderMethod.QUANTIZE }],
    ['Draco', KHRDracoMeshCompression, { quantizationBits: { POSITION: 16, TEX_COORD: 16, NORMAL: 12 } }],
  ] as const)('are unpacked from %s first', async (_, extension, options) => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b', 'c']) {
      place(document, name, createSheet(document, { name, material }), { at: [name.charCodeAt(0), 0, 0] });
    }
    document
      .createExtension(extension as typeof EXTMeshoptCompression)
      .setRequired(true)
      .setEncoderOptions(options as never);
    const packed = await write(document);
    const { glb } = await repairBytes(packed, [MERGE]);
    await expectSameLook(packed, glb, 1e-5);
    expect(readGlb(glb).json.extensionsRequired ?? []).not.toContain('KHR_draco_mesh_compression');
  });

  it('keep their order: by material, and by the scene within one', async () => {
    const document = createDocument();
    const [first, glass] = [document.createMaterial('first'), document.createMaterial('glass').setAlphaMode('BLEND')];
    for (const [i, material] of [glass, null, first, glass, first, null].entries()) {
      place(document, `${i}`, createSheet(document, { name: '', material, cells: 1 }), { at: [i, 0, 0] });
    }
    const { glb } = await merge(document);
    const [a, b, c] = readGlb(glb).json.meshes![0]!.primitives;
    expect([a!.material, b!.material, c!.material]).toEqual([0, 1, undefined]);
    const xs = (await listWorldTriangles(glb)).map(({ corners }) => Math.floor(Math.min(...corners.map(([x]) => x!))));
    expect(xs).toEqual([2, 2, 4, 4, 0, 0, 3, 3, 1, 1, 5, 5]);
  });
});

describe('tangents', () => {
  function make(normalMap: boolean, tangents: readonly boolean[], mirrored = false) {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    if (normalMap) {
      const texture = document.createTexture('bumps').setMimeType('image/png').setImage(DOT);
      material.setNormalTexture(texture);
    }
    for (const [i, given] of tangents.entries()) {
      const primitive = createSheet(document, { name: '', material });
      const values = Float32Array.from({ length: 100 }, (_, at) => [1, 0, 0, 1][at % 4]!);
      const accessor = document.createAccessor().setType('VEC4').setArray(values);
      if (given) primitive.setAttribute('TANGENT', accessor.setBuffer(document.getRoot().listBuffers()[0]!));
      const node = document.createNode().setMesh(document.createMesh().addPrimitive(primitive));
      document
        .getRoot()
        .listScenes()[0]!
        .addChild(node.setScale([mirrored ? -1 : 1, 1, 1]).setTranslation([i * 2, 0, 0]));
    }
    return document;
  }
  const listTangents = (glb: Uint8Array) =>
    readGlb(glb).json.meshes![0]!.primitives.map(({ attributes }) => attributes.TANGENT !== undefined);

  it('keep parts with and without them apart under a normal map', async () => {
    const { glb, reports } = await merge(make(true, [true, false, true, false]));
    expect(listTangents(glb)).toEqual([true, false]);
    expect(reports[0]!.figures.drawsAfter).toBe(2);
  });

  it('are dropped where only some have them and no map needs them, and kept where all have them', async () => {
    expect(listTangents((await merge(make(false, [true, false]))).glb)).toEqual([false]);
    expect(listTangents((await merge(make(false, [true, true]))).glb)).toEqual([true]);
  });

  it('change the side of the bitangent with a mirror', async () => {
    const { glb } = await merge(make(true, [true, true], true));
    const document = await (await createIo()).readBinary(glb);
    const tangents = document.getRoot().listMeshes()[0]!.listPrimitives()[0]!.getAttribute('TANGENT')!;
    expect(tangents.getElement(0, [])).toEqual([-1, 0, 0, -1]);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });
});

describe('what moves, bends or is hidden', () => {
  it('stays as it is, and the report says so', async () => {
    const document = createDocument();
    const scene = document.getRoot().listScenes()[0]!;
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b', 'door', 'morphing', 'skinned', 'many', 'dotted', 'hidden']) {
      addPart(document, { name, material });
    }
    const nodes = new Map(
      document
        .getRoot()
        .listNodes()
        .map((node) => [node.getName(), node]),
    );
    const buffer = document.getRoot().listBuffers()[0]!;
    const floats = (values: number[], type: 'SCALAR' | 'VEC3' | 'VEC4' | 'MAT4') =>
      document.createAccessor().setType(type).setArray(new Float32Array(values)).setBuffer(buffer);
    const hinge = document.createNode('hinge').addChild(nodes.get('door')!);
    scene.addChild(hinge);
    const sampler = document.createAnimationSampler().setInput(floats([0, 1], 'SCALAR'));
    sampler.setOutput(floats([0, 0, 0, 0, 1, 0], 'VEC3'));
    const channel = document.createAnimationChannel().setTargetNode(hinge).setTargetPath('translation');
    document.createAnimation('open').addSampler(sampler).addChannel(channel.setSampler(sampler));
    const target = document.createPrimitiveTarget().setAttribute('POSITION', floats(new Array(75).fill(0), 'VEC3'));
    nodes.get('morphing')!.getMesh()!.listPrimitives()[0]!.addTarget(target);
    nodes.get('morphing')!.getMesh()!.setWeights([0]);
    const joint = document.createNode('joint');
    scene.addChild(joint);
    const skinned = nodes.get('skinned')!.getMesh()!.listPrimitives()[0]!;
    const joints = document.createAccessor().setType('VEC4').setArray(new Uint8Array(100)).setBuffer(buffer);
    skinned.setAttribute('JOINTS_0', joints);
    skinned.setAttribute(
      'WEIGHTS_0',
      floats(
        new Array(100).fill(0).map((_, i) => (i % 4 ? 0 : 1)),
        'VEC4',
      ),
    );
    nodes.get('skinned')!.setSkin(document.createSkin().addJoint(joint));
    const batch = document.createExtension(EXTMeshGPUInstancing).createInstancedMesh();
    nodes
      .get('many')!
      .setExtension('EXT_mesh_gpu_instancing', batch.setAttribute('TRANSLATION', floats([0, 0, 0], 'VEC3')));
    const dots = createSheet(document, { name: '', material, uv: false }).setMode(0).setIndices(null);
    nodes.get('dotted')!.getMesh()!.addPrimitive(dots);
    const bytes = editGlb(await write(document), (json) => {
      json.extensionsUsed = [...(json.extensionsUsed ?? []), 'KHR_node_visibility'];
      json.nodes!.find(({ name }) => name === 'hidden')!.extensions = { KHR_node_visibility: { visible: false } };
    });
    const { glb, reports } = await repairBytes(bytes, [MERGE]);
    await expectSameLook(bytes, glb, 1e-6);
    expect(reports[0]!.message).toContain(
      'Unchanged parts: 1 with morph targets, 1 skinned, 1 instanced, 1 of points or lines, 1 hidden, 1 animated.',
    );
    expect(reports[0]!.figures).toMatchObject({ partsBefore: 3, drawsBefore: 9, drawsAfter: 7 });
    const { json } = readGlb(glb);
    const names = json.nodes!.map(({ name }) => name).sort();
    expect(names).toEqual(['door', 'dotted', 'hidden', 'hinge', 'joint', 'many', 'morphing', 'product', 'skinned']);
    expect(json.meshes!.find(({ name }) => name === 'dotted')!.primitives).toHaveLength(1);
  });

  it('keeps nodes that carry something of their own, and drops those that only held parts', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    const scene = document.getRoot().listScenes()[0]!;
    const outer = document.createNode('outer');
    const [inner, lamp] = [document.createNode('inner'), document.createNode('lamp')];
    scene.addChild(outer.addChild(inner).addChild(lamp));
    lamp.setExtension(
      'KHR_lights_punctual',
      document.createExtension(KHRLightsPunctual).createLight('bulb').setType('point'),
    );
    for (const [name, parent] of [
      ['a', inner],
      ['b', lamp],
    ] as const) {
      addPart(document, { name, material });
      parent.addChild(document.getRoot().listNodes().at(-1)!);
    }
    const { glb } = await merge(document);
    expect(readGlb(glb).json.nodes!.map(({ name }) => name)).toEqual(['outer', 'lamp', 'product']);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('leaves parts that cannot be read where they are', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b', 'nan', 'range']) addPart(document, { name, material });
    const [, , nan, range] = document
      .getRoot()
      .listMeshes()
      .map((mesh) => mesh.listPrimitives()[0]!);
    nan!.getAttribute('POSITION')!.setElement(0, [Number.NaN, 0, 0]);
    range!.getIndices()!.setElement(0, [4000]);
    const { glb, reports } = await merge(document);
    expect(reports[0]!.message).toContain('Unchanged parts: 2 unreadable.');
    expect(readGlb(glb).json.nodes!.map(({ name }) => name)).toEqual(['nan', 'range', 'product']);
  });
});

describe('variants', () => {
  it('keep parts apart that wear different things in them', async () => {
    const document = createDocument();
    const extension = document.createExtension(KHRMaterialsVariants);
    const [cloth, red, blue] = [
      document.createMaterial('cloth'),
      document.createMaterial('red'),
      document.createMaterial('blue'),
    ];
    const night = extension.createVariant('night');
    for (const [i, worn] of [red, blue, red, null].entries()) {
      const mesh = addPart(document, { name: `${i}`, material: cloth });
      if (!worn) continue;
      const list = extension.createMappingList();
      list.addMapping(extension.createMapping().setMaterial(worn).addVariant(night));
      mesh.listPrimitives()[0]!.setExtension('KHR_materials_variants', list);
    }
    const { glb } = await merge(document);
    const read = readGlb(glb);
    expect(read.json.meshes).toHaveLength(1);
    expect([0, 1, 2].map((primitive) => materialsByVariant(read, 0, primitive))).toEqual([[1], [2], [0]]);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });
});

describe('losses', () => {
  async function makeCarrier(): Promise<Buffer> {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b']) addPart(document, { name, material });
    return editGlb(await write(document), (json) => {
      Object.assign(json.nodes![0]!, { extras: { article: 12 } });
      Object.assign(json.meshes![1]!, { extras: {} });
      json.extensionsUsed = ['EXT_example'];
      json.meshes![1]!.primitives[0]!.extensions = { EXT_example: {} };
      json.meshes![0]!.primitives[0]!.attributes._WEAR = json.meshes![0]!.primitives[0]!.attributes.TEXCOORD_0!;
    });
  }

  it('are asked about: extras, unknown extensions, attributes only some have', async () => {
    const bytes = await makeCarrier();
    const { reports, sha256 } = await repairBytes(bytes, [MERGE], 'lenient');
    expect(reports[0]).toMatchObject({
      outcome: 'unfit',
      losses: [
        'extras of 1 node, mesh or primitive',
        'EXT_example on 1 node, mesh or primitive',
        'attribute _WEAR of 1 primitive',
      ],
    });
    await expect(repairBytes(bytes, [MERGE])).rejects.toMatchObject({ code: 'repair-would-lose' });
    const accepted = await repairBytes(bytes, [{ ...MERGE, accept: true }]);
    expect(accepted.reports[0]).toMatchObject({ outcome: 'done', figures: { drawsAfter: 1 } });
    expect(accepted.sha256).not.toBe(sha256);
    await expectSameLook(bytes, accepted.glb, 1e-6);
  });

  it('do not count an attribute that all of a material have: it is kept', async () => {
    const document = createDocument();
    const material = document.createMaterial('cloth');
    for (const name of ['a', 'b']) addPart(document, { name, material });
    const bytes = editGlb(await write(document), (json) => {
      for (const { primitives } of json.meshes!)
        primitives[0]!.attributes._WEAR = primitives[0]!.attributes.TEXCOORD_0!;
    });
    const { glb } = await repairBytes(bytes, [MERGE]);
    const { attributes } = readGlb(glb).json.meshes![0]!.primitives[0]!;
    expect(Object.keys(attributes).sort()).toEqual(['NORMAL', 'POSITION', 'TEXCOORD_0', '_WEAR']);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });
});

// Real models of @webxr-input-profiles/assets 1.0.20 (MIT)
describe.each([
  'oculus-go/none.glb',
  'valve-index/right.glb',
  'oculus-touch/left.glb',
  'pico-4u/left.glb',
  'generic-hand/left.glb',
])('%s', (path) => {
  it('looks the same merged', async () => {
    const model = readRegistryModel(path);
    const { glb, reports } = await repairBytes(model, [{ ...MERGE, accept: true }]);
    const [was, is] = [await listWorldTriangles(model), await listWorldTriangles(glb)];
    expect(countUnmatched(was, is, { off: 1e-5 })).toBe(0);
    expect(countUnmatched(is, was, { off: 1e-5 })).toBe(0);
    // what was wrong before may stay wrong where it stays
    const before = new Set((await listValidatorErrors(model)).map((error) => error.split(' ')[0]));
    expect((await listValidatorErrors(glb)).filter((error) => !before.has(error.split(' ')[0]!))).toEqual([]);
    expect(await countInBabylon(glb)).toBe(await countInBabylon(model));
    expect(reports[0]!.outcome).toMatch(/^(done|nothing-to-do)$/);
  });
});

/** A PNG of one texel, (128, 128, 255). */
const DOT = new Uint8Array(
  Buffer.from(
    'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAIAAACQd1PeAAAACXBIWXMAAAPoAAAD6AG1e1JrAAAADElEQVQImWNoaPgPAAODAgBVuNY/AAAAAElFTkSuQmCC',
    'base64',
  ),
);
