import type { Document, Node } from '@gltf-transform/core';
import { validateBytes } from 'gltf-validator';
import { afterAll, describe, expect, it } from 'vitest';
import { addPart, createDocument, createSheet, makeNoisePng } from '../../../support/build-model.ts';
import { materialsByVariant } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { createSplicer, RED, type Spliced } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';

const splicer = createSplicer();
afterAll(() => splicer.close());

const GLASS = makeFinish('GLASS', {
  family: 'glass',
  colour: { hex: '#ffffff' },
  volume: { thicknessMm: 6, attenuationColour: '#808080', attenuationDistanceMm: 20 },
});
const BRUSHED = makeFinish('BRUSHED', {
  family: 'bare-metal',
  colour: { hex: '#f5f6f6' },
  anisotropy: { strength: 0.7, rotationDegrees: 30 },
});

const RELIEF = makeFinish('RELIEF', {
  family: 'wood',
  maps: { normal: 'relief' },
  tile: { widthMm: 200, heightMm: 200 },
});

/** A document of one material, and the nodes that show it. */
function makeModel(): { document: Document; show(name: string, scale: number, size?: number): Node } {
  const document = createDocument();
  const material = document.createMaterial('part');
  return {
    document,
    show(name, scale, size = 1 / scale) {
      addPart(document, { name, material, size });
      const nodes = document.getRoot().listNodes();
      return nodes[nodes.length - 1]!.setScale([scale, scale, scale]);
    },
  };
}

async function splice(document: Document, finish = GLASS, grainDegrees = 0): Promise<Spliced> {
  const spliced = await splicer.splice(await (await createIo()).writeBinary(document), {
    finishes: [finish, RED],
    rows: [{ part: finish.finish }, { part: 'RED' }],
    maps: { relief: { bytes: await makeNoisePng(3, 8), mimeType: 'image/png' } },
    changeSlot: () => ({ grainDegrees }),
  });
  expectSplicePromises(spliced);
  for (const check of await splicer.check(spliced)) expect(check).toMatchObject({ passed: true });
  const { issues } = (await validateBytes(spliced.file)) as { issues: { numErrors: number } };
  expect(issues.numErrors).toBe(0);
  return spliced;
}

/** By mesh, what it wears in each of the two variants. */
const wornBy = ({ output }: Spliced, mesh: number) =>
  materialsByVariant(output, mesh, 0).map((index) => output.json.materials![index!]!);
const thicknessOn = (spliced: Spliced, mesh: number) =>
  wornBy(spliced, mesh)[0]!.extensions?.KHR_materials_volume?.thicknessFactor as number;

// KHR_materials_volume: “thicknessFactor … is given in the coordinate space of the mesh”, attenuationDistance “in world
// space”: on a part drawn in millimetres and scaled by 0.001 a wall of 6 mm is 6 units thick
describe('thickness in a delivery', () => {
  it.each([
    [1, 0.006],
    [0.001, 6],
    [0.0254, 0.006 / 0.0254],
    [25, 0.006 / 25],
  ])('on a node scaled by %d is %d units', async (scale, expected) => {
    const { document, show } = makeModel();
    show('pane', scale);
    const spliced = await splice(document);
    expect(thicknessOn(spliced, 0)! / expected).toBeCloseTo(1, 6);
    expect(wornBy(spliced, 0)[0]!.extensions!.KHR_materials_volume!.attenuationDistance).toBeCloseTo(0.02, 9);
    expect(spliced.written.findings).toEqual([]);
  });

  it('counts every node above', async () => {
    const { document, show } = makeModel();
    const pane = show('pane', 0.1, 100);
    const above = document.createNode('above').setScale([0.1, 0.1, 0.1]).addChild(pane);
    document.getRoot().listScenes()[0]!.addChild(above);
    expect(thicknessOn(await splice(document), 0)).toBeCloseTo(0.6, 6);
  });

  it('of a part scaled unevenly goes by the mean, which keeps its volume', async () => {
    const { document, show } = makeModel();
    show('pane', 1).setScale([1, 2, 4]);
    expect(thicknessOn(await splice(document), 0)).toBeCloseTo(0.006 / 2, 9);
  });

  it('is right on each of two meshes of one slot, which share all materials that do not ask for it', async () => {
    const { document, show } = makeModel();
    show('pane', 1);
    show('door', 0.001);
    const spliced = await splice(document);
    expect([0, 1].map((mesh) => thicknessOn(spliced, mesh))).toEqual([0.006, 6]);
    expect(wornBy(spliced, 0)[1]).toBe(wornBy(spliced, 1)[1]);
    expect(spliced.output.json.materials!.filter(({ name }) => name === 'part/RED')).toHaveLength(1);
    expect(spliced.written.findings).toEqual([]);
  });

  it('cannot be right for two nodes of different scale that share a mesh, and says so', async () => {
    const { document, show } = makeModel();
    const pane = show('pane', 1, 1);
    document
      .getRoot()
      .listScenes()[0]!
      .addChild(document.createNode('door').setMesh(pane.getMesh()).setScale([4, 4, 4]));
    const spliced = await splice(document);
    // between both: twice too thin on the one, twice too thick on the other
    expect(thicknessOn(spliced, 0)).toBeCloseTo(0.003, 9);
    expect(spliced.written.findings).toMatchObject([
      {
        code: 'thickness-uneven',
        severity: 'warning',
        where: 'slot part',
        seen: { finishes: ['GLASS'], lowMm: expect.closeTo(3, 6), highMm: expect.closeTo(12, 6) },
        repairs: [{ repair: 'unshare-mesh', meshes: ['/meshes/0'] }],
      },
    ]);
    expect(spliced.written.findings[0]!.message).toContain('between 3.0 mm and 12 mm');
    expect((await splice(document, BRUSHED)).written.findings.map(({ code }) => code)).toEqual(['anisotropy-dropped']);
  });

  it('says nothing of nodes that share a mesh at one scale, or where one of them shows nothing', async () => {
    const { document, show } = makeModel();
    const pane = show('pane', 0.001);
    const scene = document.getRoot().listScenes()[0]!;
    scene.addChild(document.createNode('twin').setMesh(pane.getMesh()).setScale([0.001, 0.001, -0.001]));
    scene.addChild(document.createNode('none').setMesh(pane.getMesh()).setScale([0, 0, 0]));
    const spliced = await splice(document);
    expect(thicknessOn(spliced, 0)).toBeCloseTo(6, 6);
    expect(spliced.written.findings).toEqual([]);
  });
});

// KHR_materials_anisotropy: the direction is in tangent space, and tangents are ignored without normals (glTF 2.0 §3.7.2.1)
describe('brushing in a delivery', () => {
  const addTangents = (document: Document, mesh: number) => {
    const primitive = document.getRoot().listMeshes()[mesh]!.listPrimitives()[0]!;
    const count = primitive.getAttribute('POSITION')!.getCount();
    const tangents = new Float32Array(count * 4).map((_, at) => (at % 4 === 0 || at % 4 === 3 ? 1 : 0));
    const buffer = document.getRoot().listBuffers()[0]!;
    primitive.setAttribute('TANGENT', document.createAccessor().setType('VEC4').setArray(tangents).setBuffer(buffer));
    return primitive;
  };
  const brushingOn = (spliced: Spliced, mesh: number) => wornBy(spliced, mesh)[0]!.extensions?.KHR_materials_anisotropy;

  it('is written on parts that have tangents, without a normal map', async () => {
    const { document, show } = makeModel();
    show('plate', 1);
    addTangents(document, 0);
    const spliced = await splice(document, BRUSHED);
    expect(brushingOn(spliced, 0)).toMatchObject({ anisotropyStrength: 0.7 });
    expect(spliced.written.findings).toEqual([]);
  });

  it('is written on those parts of a slot that have tangents, and told of the others', async () => {
    const { document, show } = makeModel();
    show('plate', 1);
    show('edge', 1);
    addTangents(document, 1);
    const spliced = await splice(document, BRUSHED);
    expect([0, 1].map((mesh) => Boolean(brushingOn(spliced, mesh)))).toEqual([false, true]);
    expect(spliced.written.findings).toMatchObject([{ code: 'anisotropy-dropped', seen: ['BRUSHED'] }]);
  });

  it('is not written by tangents without normals', async () => {
    const { document, show } = makeModel();
    show('plate', 1);
    addTangents(document, 0).setAttribute('NORMAL', null);
    const spliced = await splice(document, BRUSHED);
    expect(brushingOn(spliced, 0)).toBeUndefined();
    expect(spliced.written.findings.map(({ code }) => code)).toEqual(['anisotropy-dropped']);
    expect(spliced.survey.primitives[0]).toMatchObject({ hasTangents: true, hasNormals: false });
  });

  // that both are seen alike: test/picture/baked-normals.test.ts
  it.each([
    [0, 1],
    [90, 2],
  ])('laid at %d°, a relief takes %d maps on parts with tangents and without', async (grainDegrees, maps) => {
    const { document, show } = makeModel();
    show('plate', 1);
    show('edge', 1);
    addTangents(document, 1);
    const { output, written } = await splice(document, RELIEF, grainDegrees);
    const relief = output.json.materials!.filter(({ name }) => name === 'part/RELIEF');
    expect(relief).toHaveLength(maps);
    expect(new Set(relief.map(({ normalTexture }) => normalTexture!.index)).size).toBe(maps);
    expect(output.json.images).toHaveLength(maps);
    expect(written.findings).toEqual([]);
  });

  it('leaves the plan of parts that differ in nothing a finish looks at one material each', async () => {
    const { document } = makeModel();
    const material = document.getRoot().listMaterials()[0]!;
    const mesh = document.createMesh('many');
    for (let i = 0; i < 3; i++) mesh.addPrimitive(createSheet(document, { name: `${i}`, material }));
    document.getRoot().listScenes()[0]!.addChild(document.createNode('many').setMesh(mesh));
    addTangents(document, 0);
    const spliced = await splice(document, GLASS);
    expect(spliced.output.json.materials!.map(({ name }) => name).sort()).toEqual(['part/GLASS', 'part/RED']);
  });
});
