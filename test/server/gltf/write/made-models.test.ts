import { EXTMeshoptCompression, KHRDracoMeshCompression, KHRMaterialsVariants } from '@gltf-transform/extensions';
import { reorder } from '@gltf-transform/functions';
import { MeshoptEncoder } from 'meshoptimizer';
import { afterAll, describe, expect, it } from 'vitest';
import { addPart, addTexture, createDocument } from '../../../support/build-model.ts';
import { editGlb, listReadRanges, makeGlb, readGlb, readImage, sha256, texturesOf } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { createSplicer, RED } from '../../../support/splice.ts';
import { expectMaterialInPlace, expectSplicePromises } from '../../../support/splice-promises.ts';

const splicer = createSplicer();
const io = createIo();
afterAll(() => splicer.close());

/** A seat with a colour map of its own, and legs without one. */
async function makeStool() {
  const document = createDocument();
  const cloth = document.createMaterial('Seat').setBaseColorTexture(await addTexture(document, 'cloth', 1));
  const steel = document.createMaterial('Legs').setMetallicFactor(1);
  addPart(document, { name: 'seat', material: cloth });
  addPart(document, { name: 'legs', material: steel, cells: 6 });
  return { document, cloth, steel };
}

const write = async (document: Awaited<ReturnType<typeof makeStool>>['document']) => (await io).writeBinary(document);

describe('compressed geometry', () => {
  // KhronosGroup/glTF 77b44be, extensions/2.0/Vendor/EXT_meshopt_compression/README.md: the compressed bytes stand where
  // bufferView.extensions.EXT_meshopt_compression says, in a buffer of its own
  it('meshopt: the compressed ranges go through unchanged', async () => {
    const { document } = await makeStool();
    await document.transform(reorder({ encoder: MeshoptEncoder }));
    document.createExtension(EXTMeshoptCompression).setRequired(true);
    const model = await write(document);
    expect(listReadRanges(readGlb(model)).some(({ what }) => what.includes('meshopt'))).toBe(true);
    const spliced = await splicer.splice(model);
    expectSplicePromises(spliced);
    expect(spliced.written.leftOutBytes).toBeGreaterThan(500);
    expect(spliced.output.json.extensionsRequired).toContain('EXT_meshopt_compression');
    const decoded = await (await io).readBinary(spliced.file);
    const original = await (await io).readBinary(model);
    expect(positionsOf(decoded)).toEqual(positionsOf(original));
  });

  // KhronosGroup/glTF 77b44be, extensions/2.0/Khronos/KHR_draco_mesh_compression/README.md
  it('Draco: the compressed views go through unchanged', async () => {
    const { document } = await makeStool();
    document.createExtension(KHRDracoMeshCompression).setRequired(true);
    const model = await write(document);
    expect(listReadRanges(readGlb(model)).filter(({ what }) => what.startsWith('draco'))).toHaveLength(2);
    const spliced = await splicer.splice(model);
    expectSplicePromises(spliced);
    expect(spliced.written.leftOutBytes).toBeGreaterThan(500);
    const decoded = await (await io).readBinary(spliced.file);
    expect(positionsOf(decoded)).toEqual(positionsOf(await (await io).readBinary(model)));
  });

  // glTF 2.0, Specification.adoc (77b44be), Sparse Accessors
  it('sparse accessors: indices and values go through unchanged', async () => {
    const { document } = await makeStool();
    const morph = document.createPrimitiveTarget();
    const values = new Float32Array(25 * 3);
    values.set([0, 0.5, 0], 30);
    const buffer = document.getRoot().listBuffers()[0]!;
    morph.setAttribute(
      'POSITION',
      document.createAccessor().setType('VEC3').setArray(values).setSparse(true).setBuffer(buffer),
    );
    document.getRoot().listMeshes()[0]!.listPrimitives()[0]!.addTarget(morph);
    const model = await write(document);
    expect(listReadRanges(readGlb(model)).filter(({ what }) => what.includes('sparse'))).toHaveLength(2);
    expectSplicePromises(await splicer.splice(model));
  });
});

describe('references from elsewhere', () => {
  // KhronosGroup/glTF 77b44be, extensions/2.0/Khronos/KHR_animation_pointer/README.md: the target is a JSON pointer, so
  // the material it names must stay where it is
  it('a material an animation points at stays in its place with its textures', async () => {
    const { document, cloth } = await makeStool();
    const buffer = document.getRoot().listBuffers()[0]!;
    const times = document
      .createAccessor()
      .setArray(new Float32Array([0, 1]))
      .setBuffer(buffer);
    const values = document
      .createAccessor()
      .setType('VEC4')
      .setArray(new Float32Array([1, 1, 1, 1, 0, 0, 0, 1]))
      .setBuffer(buffer);
    const sampler = document.createAnimationSampler().setInput(times).setOutput(values);
    const node = document.getRoot().listNodes()[0]!;
    const channel = document.createAnimationChannel().setSampler(sampler).setTargetNode(node).setTargetPath('rotation');
    document.createAnimation('fade').addSampler(sampler).addChannel(channel);
    const index = document.getRoot().listMaterials().indexOf(cloth);
    const model = editGlb(await write(document), (json) => {
      json.extensionsUsed = ['KHR_animation_pointer'];
      const pointer = `/materials/${index}/pbrMetallicRoughness/baseColorFactor`;
      json.animations![0]!.channels![0]!.target = {
        path: 'pointer',
        extensions: { KHR_animation_pointer: { pointer } },
      };
    });
    const spliced = await splicer.splice(model);
    expectSplicePromises(spliced);
    expectMaterialInPlace(spliced, index);
    expect(readImage(spliced.output, 0)).toEqual(readImage(spliced.source, 0));
    expect(spliced.survey.materials[index]!.animated).toBe(true);
  });

  it('with an extension nobody knows the whole BIN chunk stays, and the dead bytes are told', async () => {
    const { document } = await makeStool();
    const model = editGlb(await write(document), (json) => {
      json.extensionsUsed = ['EXAMPLE_mystery'];
      json.nodes![0]!.extensions = { EXAMPLE_mystery: { image: 0, material: 0 } };
    });
    const spliced = await splicer.splice(model);
    expectSplicePromises(spliced);
    const { source, output, written } = spliced;
    const length = source.json.buffers![0]!.byteLength;
    expect(output.bin.subarray(0, length)).toEqual(source.bin.subarray(0, length));
    expect(output.json.extensionsUsed).toContain('EXAMPLE_mystery');
    source.json.materials!.forEach((_, material) => {
      expectMaterialInPlace(spliced, material);
    });
    expect(output.json.images!.slice(0, 1)).toEqual(source.json.images);
    const image = readImage(source, 0)!.length;
    expect(Math.abs(written.deadBytes - image)).toBeLessThanOrEqual(3);
    const finding = written.findings.find(({ code }) => code === 'dead-bytes');
    expect(finding?.seen).toBe(written.deadBytes);
  });

  it('variants the model arrived with are replaced, listed, and no longer required', async () => {
    const { document, cloth, steel } = await makeStool();
    const variants = document.createExtension(KHRMaterialsVariants);
    const [old, older] = [variants.createVariant('Old summer'), variants.createVariant('Old winter')];
    const list = variants
      .createMappingList()
      .addMapping(variants.createMapping().setMaterial(cloth).addVariant(old))
      .addMapping(variants.createMapping().setMaterial(steel).addVariant(older));
    for (const mesh of document.getRoot().listMeshes())
      mesh.listPrimitives()[0]!.setExtension('KHR_materials_variants', list);
    const model = editGlb(await write(document), (json) => {
      json.extensionsRequired = ['KHR_materials_variants'];
    });
    const spliced = await splicer.splice(model, { changeSlot: ({ slot }) => ({ fixed: slot === 'legs' }) });
    expectSplicePromises(spliced);
    expect(spliced.written.replacedVariants).toEqual(['Old summer', 'Old winter']);
    expect(spliced.output.json.extensionsRequired).toBeUndefined();
    expect(spliced.survey.variants).toEqual(['Old summer', 'Old winter']);
  });
});

describe('unusual structure', () => {
  it('two nodes that share a mesh change together and are reported', async () => {
    const { document } = await makeStool();
    const mesh = document.getRoot().listMeshes()[1]!;
    document
      .getRoot()
      .listScenes()[0]!
      .addChild(document.createNode('twin').setMesh(mesh).setTranslation([2, 0, 0]));
    const spliced = await splicer.splice(await write(document));
    expectSplicePromises(spliced);
    expect(spliced.survey.sharedMeshes).toEqual([expect.objectContaining({ mesh: 1, nodes: 2 })]);
  });

  it('two textures of one image: kept where one is still shown', async () => {
    const { document } = await makeStool();
    const model = editGlb(await write(document), (json) => {
      json.textures!.push({ source: 0 });
      json.materials![1]!.pbrMetallicRoughness = { baseColorTexture: { index: 1 } };
    });
    const both = await splicer.splice(model);
    expectSplicePromises(both);
    expect(both.written.leftOutBytes).toBeGreaterThan(500);
    const one = await splicer.splice(model, { changeSlot: ({ slot }) => ({ fixed: slot === 'legs' }) });
    expectSplicePromises(one);
    expect(one.written.leftOutBytes).toBe(0);
    expect(readImage(one.output, 0)).toEqual(readImage(one.source, 0));
  });

  it('a primitive without a material takes finishes; in an empty cell it has a plain material', async () => {
    const document = createDocument();
    addPart(document, { name: 'bare', material: null });
    const model = await write(document);
    const spliced = await splicer.splice(model, { finishes: [RED], rows: [{ unnamed: 'RED' }, {}] });
    expectSplicePromises(spliced);
    const { json } = spliced.output;
    const mappings = json.meshes![0]!.primitives[0]!.extensions!.KHR_materials_variants!.mappings as {
      material: number;
      variants: number[];
    }[];
    const bare = mappings.find(({ variants }) => variants.includes(1))!.material;
    // glTF 2.0, Specification.adoc (77b44be), Default Material: white, metal and rough by the defaults of the schema
    const pbr = { baseColorFactor: [1, 1, 1, 1], metallicFactor: 1, roughnessFactor: 1 };
    expect({ ...pbr, ...json.materials![bare]!.pbrMetallicRoughness }).toEqual(pbr);
    expect(texturesOf(json.materials![bare])).toEqual([]);
  });

  it('a GLB without a BIN chunk, its buffer and image in data URIs', async () => {
    const { document } = await makeStool();
    const { json, bin } = readGlb(await write(document));
    const image = readImage({ json, bin }, 0)!;
    json.buffers![0]!.uri = `data:application/octet-stream;base64,${bin.toString('base64')}`;
    json.images = [{ uri: `data:image/png;base64,${image.toString('base64')}` }];
    const model = makeGlb(json);
    const spliced = await splicer.splice(model);
    expectSplicePromises(spliced);
    expect(readGlb(model).bin).toHaveLength(0);
    expect(spliced.output.bin).toHaveLength(0);
    expect(JSON.stringify(spliced.output.json)).not.toContain(image.toString('base64'));
  });

  it('a GLB without a BIN chunk and without geometry data', async () => {
    // accessors without a view read zeros: glTF 2.0, Specification.adoc (77b44be), Accessors
    const json = {
      asset: { version: '2.0' },
      scene: 0,
      scenes: [{ nodes: [0] }],
      nodes: [{ mesh: 0 }],
      materials: [{ name: 'Seat' }],
      accessors: [{ componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [0, 0, 0] }],
      meshes: [{ primitives: [{ attributes: { POSITION: 0 }, material: 0 }] }],
    };
    const spliced = await splicer.splice(makeGlb(json));
    expectSplicePromises(spliced);
    expect(spliced.output.bin).toHaveLength(0);
  });

  it('leaves the source file as it was', async () => {
    const { document } = await makeStool();
    const model = await write(document);
    const before = sha256(model);
    const { source } = await splicer.splice(model);
    expect(sha256(model)).toBe(before);
    expect(source.json.extensions).toBeUndefined();
  });
});

function positionsOf(document: Awaited<ReturnType<Awaited<typeof io>['readBinary']>>): number[][] {
  return document
    .getRoot()
    .listMeshes()
    .map((mesh) => Array.from(mesh.listPrimitives()[0]!.getAttribute('POSITION')!.getArray()!));
}
