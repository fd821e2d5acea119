import type { Document, Material } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { Article, Finish } from '../../../../server/core/finish/finish.ts';
import type { MapFile } from '../../../../server/core/ports/models.ts';
import { KEEP_ALL, type Keep } from '../../../../server/core/product/slot.ts';
import { addPart, createDocument, makeNoisePng } from '../../../support/build-model.ts';
import { editGlb, materialsByVariant, readImage, sha256 } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { makeFlatPng, makeNormalPng, normalOf } from '../../../support/make-normals.ts';
import { createSplicer, RED, type Spliced, type SpliceOptions } from '../../../support/splice.ts';
import { expectSplicePromises } from '../../../support/splice-promises.ts';
import { listValidatorErrors } from '../../../support/validate.ts';

// Where part and finish both have a normal map, the two are baked into one that lies in the part's UVs as they are: no
// transform, strength 1. What the texels are is tested where they are made; here it is who shares them, and when.

const splicer = createSplicer();
afterAll(() => splicer.close());

const png = (bytes: Uint8Array): MapFile => ({ bytes, mimeType: 'image/png' });
const waves = (times: number) => (u: number) => normalOf(0.4 * Math.sin(2 * Math.PI * times * u), 0);
const seams = makeNormalPng([64, 64], waves(1));
const weave = makeNormalPng([32, 32], waves(2));

const article: Article = {
  article: 'WEAVE',
  name: 'Weave',
  family: 'textile',
  maps: { normal: 'weave' },
  tile: { widthMm: 125, heightMm: 125 },
};
const cloth = (finish: string, more: Partial<Finish> = {}) =>
  makeFinish(finish, { family: 'textile', article: 'WEAVE', ...more });

type Dress = (document: Document, material: Material) => void;

/** A square of a metre with seams of its own, UVs once from 0 to 1. */
async function makeModel(dress: Dress = () => undefined, image?: Uint8Array, mimeType = 'image/png') {
  const document = createDocument();
  const texture = document.createTexture('seams').setImage(new Uint8Array(image ?? (await seams)));
  const material = document.createMaterial('part').setNormalTexture(texture.setMimeType(mimeType));
  dress(document, material);
  addPart(document, { name: 'part', material });
  return (await createIo()).writeBinary(document);
}

interface Options extends SpliceOptions {
  readonly normal?: Keep['normal'];
  readonly grainDegrees?: number;
}

async function splice(
  model: Uint8Array,
  { normal = 'both-or-part', grainDegrees = 0, ...more }: Options = {},
): Promise<Spliced> {
  const finishes = more.finishes ?? [cloth('CLOTH')];
  const spliced = await splicer.splice(model, {
    finishes,
    article,
    rows: finishes.map(({ finish }) => ({ part: finish })),
    maps: { weave: png(await weave) },
    changeSlot: () => ({ keep: { ...KEEP_ALL, normal }, grainDegrees }),
    ...more,
  });
  expectSplicePromises(spliced);
  expect((await splicer.check(spliced)).every(({ passed }) => passed)).toBe(true);
  return spliced;
}

const worn = ({ output }: Spliced, variant = 0) => output.json.materials![materialsByVariant(output, 0, 0)[variant]!]!;
const textureOf = (spliced: Spliced, variant = 0) =>
  spliced.output.json.textures![worn(spliced, variant).normalTexture!.index]!;
const imageOf = (spliced: Spliced, variant = 0) => readImage(spliced.output, textureOf(spliced, variant).source!)!;
const shown = async (spliced: Spliced, variant = 0): Promise<'part' | 'finish' | 'both'> => {
  const digest = sha256(imageOf(spliced, variant));
  return digest === sha256(await seams) ? 'part' : digest === sha256(await weave) ? 'finish' : 'both';
};
const codes = ({ written }: Spliced) => written.findings.map(({ code }) => code);
const apart = ({ written }: Spliced) => written.findings.filter(({ code }) => code === 'normals-not-combined');

describe('the normal map of a part that keeps its own, under a finish that has one', () => {
  it('is one map of both, as fine as the finish’s lies there, in the part’s UVs as they are', async () => {
    const spliced = await splice(await makeModel((_, material) => material.setNormalScale(0.5)), { grainDegrees: 30 });
    expect(worn(spliced).normalTexture).toEqual({ index: expect.any(Number) });
    // 8 repeats of 32 px to a metre
    expect(await sharp(imageOf(spliced)).metadata()).toMatchObject({
      format: 'png',
      width: 256,
      height: 256,
      channels: 3,
    });
    expect(codes(spliced)).toEqual([]);
    expect(await listValidatorErrors(spliced.file)).toEqual([]);
    // neither of the two is needed any more
    expect(spliced.output.json.images).toHaveLength(1);
    expect(spliced.written.leftOutBytes).toBeGreaterThan(100);
  });

  it('is shared by all colours of an article, and stands in the file once', async () => {
    const finishes = ['A', 'B', 'C'].map((code, i) => cloth(code, { colour: { hex: `#${i}0${i}0${i}0` } }));
    const spliced = await splice(await makeModel(), { finishes: [...finishes, RED] });
    expect(new Set([0, 1, 2].map((variant) => worn(spliced, variant).normalTexture!.index)).size).toBe(1);
    expect(await shown(spliced)).toBe('both');
    // a finish without one leaves the part its own
    expect(await shown(spliced, 3)).toBe('part');
    expect(spliced.output.json.images).toHaveLength(2);
    expect(spliced.written.addedImageBytes).toBe(imageOf(spliced).length);
  });

  it('is the same to the byte each time', async () => {
    const [once, again] = [await splice(await makeModel()), await splice(await makeModel())];
    expect(once.written.sha256).toBe(again.written.sha256);
  });

  it('holds its edge where the repeat does not go on one unit further', async () => {
    const samplerOf = (spliced: Spliced) => spliced.output.json.samplers?.[textureOf(spliced).sampler ?? -1] ?? {};
    const finish = cloth('CLOTH', { tile: { widthMm: 130, heightMm: 130 } });
    expect(samplerOf(await splice(await makeModel(), { finishes: [finish] }))).toMatchObject({
      wrapS: 33071,
      wrapT: 33071,
    });
    const { wrapS = 10497, wrapT = 10497 } = samplerOf(await splice(await makeModel()));
    expect([wrapS, wrapT]).toEqual([10497, 10497]);
  });

  it('lies where the part’s map lies, when it is laid by quantised UVs', async () => {
    const plain = await splice(await makeModel());
    // exporters leave UVs as codes, and say with a transform what they are: here a sixteenth
    const io = await createIo();
    const document = await io.readBinary(await makeModel());
    const uvs = document.getRoot().listMeshes()[0]!.listPrimitives()[0]!.getAttribute('TEXCOORD_0')!;
    uvs.setArray(new Float32Array(uvs.getArray()!).map((value) => value / 16));
    const transform = document.createExtension(KHRTextureTransform).createTransform().setScale([16, 16]);
    const [material] = document.getRoot().listMaterials();
    material!.getNormalTextureInfo()!.setExtension('KHR_texture_transform', transform);
    const quantised = await splice(await io.writeBinary(document));
    expect(imageOf(quantised).equals(imageOf(plain))).toBe(true);
    expect(worn(quantised).normalTexture!.extensions!.KHR_texture_transform).toEqual({ scale: [16, 16] });
  });

  it('follows how the part lays its map', async () => {
    const lay =
      (scale: [number, number], texCoord?: number): Dress =>
      (document, material) => {
        const transform = document.createExtension(KHRTextureTransform).createTransform().setScale(scale);
        if (texCoord !== undefined) transform.setTexCoord(texCoord);
        material.getNormalTextureInfo()!.setExtension('KHR_texture_transform', transform);
      };
    const spliced = await splice(await makeModel(lay([8, 2])));
    expect(await sharp(imageOf(spliced)).metadata()).toMatchObject({ width: 512, height: 256 });
    const none = await splice(await makeModel(lay([1, 0])));
    expect(apart(none)[0]).toMatchObject({ seen: { why: 'unreadable', map: 'part' } });
  });

  it.each<[Keep['normal'], 'part' | 'finish' | 'both']>([
    [true, 'part'],
    ['both-or-part', 'both'],
    ['both-or-finish', 'both'],
    ['part', 'part'],
    [false, 'finish'],
    ['finish', 'finish'],
  ])('is as the slot says: %s', async (normal, expected) => {
    const spliced = await splice(await makeModel(), { normal });
    expect(await shown(spliced)).toBe(expected);
    expect(codes(spliced)).toEqual(expected === 'part' ? ['finish-map-dropped'] : []);
  });

  it.each(['both-or-finish', 'part'] as const)('is the part’s where the finish has none: %s', async (normal) => {
    const spliced = await splice(await makeModel(), { finishes: [RED], normal });
    expect(await shown(spliced)).toBe('part');
    expect(codes(spliced)).toEqual([]);
  });
});

describe('normals that cannot be combined', () => {
  const fine = [cloth('FINE', { tile: { widthMm: 10, heightMm: 10 } })];

  it.each(['part', 'finish'] as const)('leave the one the slot names, and are told: %s', async (kept) => {
    const spliced = await splice(await makeModel(), { finishes: fine, normal: `both-or-${kept}` });
    expect(await shown(spliced)).toBe(kept);
    expect(codes(spliced)).toEqual(['normals-not-combined']);
    // 100 repeats of 32 px
    expect(apart(spliced)[0]).toMatchObject({
      severity: 'note',
      where: 'slot part',
      seen: { finishes: ['FINE'], kept, why: 'too-fine', neededPx: 4096 },
      expected: '2048 px or less',
    });
  });

  it('are those of UVs that leave the square, unless both repeat with them', async () => {
    const spread = async (times: number) => {
      const document = createDocument();
      const texture = document.createTexture('seams').setImage(new Uint8Array(await seams));
      const material = document.createMaterial('part').setNormalTexture(texture.setMimeType('image/png'));
      const [primitive] = addPart(document, { name: 'part', material }).listPrimitives();
      const uvs = primitive!.getAttribute('TEXCOORD_0')!;
      uvs.setArray(Float32Array.from(uvs.getArray() as Float32Array, (value) => value * times));
      return (await createIo()).writeBinary(document);
    };
    // half a metre to a unit: four repeats of 125 mm, and 3.85 of 130
    const repeating = await splice(await spread(2), { finishes: [cloth('CLOTH')] });
    expect(await shown(repeating)).toBe('both');
    const odd = await splice(await spread(2), { finishes: [cloth('ODD', { tile: { widthMm: 130, heightMm: 130 } })] });
    expect(await shown(odd)).toBe('part');
    expect(apart(odd)[0]).toMatchObject({ seen: { why: 'beyond-square', bounds: { min: [0, 0], max: [2, 2] } } });
  });

  it('are those laid by different sets of UVs', async () => {
    const model = editGlb(await makeModel(), (json) => {
      const { attributes } = json.meshes![0]!.primitives[0]!;
      attributes.TEXCOORD_1 = attributes.TEXCOORD_0!;
      json.materials![0]!.normalTexture!.texCoord = 1;
      // finishes are laid by the set of the colour map
      json.materials![0]!.pbrMetallicRoughness = { baseColorTexture: { index: 0 } };
    });
    const spliced = await splice(model);
    expect(worn(spliced).normalTexture).toEqual({ index: 0, texCoord: 1 });
    expect(apart(spliced)[0]).toMatchObject({ seen: { why: 'other-uv-set' }, expected: 'TEXCOORD_0' });
  });

  it('are those of images that cannot be read, whosever they are', async () => {
    const torn = (await makeNoisePng(3, 64)).slice(0, 600);
    const spliced = await splice(await makeModel(), { maps: { weave: png(torn) } });
    expect(await shown(spliced)).toBe('part');
    expect(apart(spliced)[0]).toMatchObject({ seen: { why: 'unreadable', map: 'finish' } });

    // the part's own is found when the model is received and left out, so that the finish's shows alone
    const broken = await splice(await makeModel(undefined, torn));
    expect(await shown(broken)).toBe('finish');
    expect(apart(broken)).toEqual([]);
  });

  it('are those of a part that is laid turned, where only some of it has tangents', async () => {
    const turned = (tangents: number) => async () => {
      const document = createDocument();
      const texture = document.createTexture('seams').setImage(new Uint8Array(await seams));
      const material = document.createMaterial('part').setNormalTexture(texture.setMimeType('image/png'));
      const transform = document.createExtension(KHRTextureTransform).createTransform().setRotation(0.4);
      material.getNormalTextureInfo()!.setExtension('KHR_texture_transform', transform);
      for (const i of [0, 1]) {
        const [primitive] = addPart(document, { name: `part-${i}`, material }).listPrimitives();
        const count = primitive!.getAttribute('POSITION')!.getCount();
        const array = new Float32Array(Array.from({ length: count }, () => [1, 0, 0, 1]).flat());
        const buffer = document.getRoot().listBuffers()[0]!;
        const accessor = document.createAccessor().setType('VEC4').setArray(array).setBuffer(buffer);
        if (i < tangents) primitive!.setAttribute('TANGENT', accessor);
        else accessor.dispose();
      }
      return (await createIo()).writeBinary(document);
    };
    const images = [];
    for (const tangents of [0, 2]) {
      const spliced = await splice(await turned(tangents)());
      expect(codes(spliced)).toEqual([]);
      images.push(sha256(imageOf(spliced)));
    }
    // with tangents of its own the part's normals are not turned with their map
    expect(images[0]).not.toBe(images[1]);
    const some = await splice(await turned(1)());
    expect(apart(some)[0]).toMatchObject({ seen: { why: 'tangents-differ', kept: 'part' } });
  });

  it('are left alone where there are no UVs to lay a finish by', async () => {
    const document = createDocument();
    const flat = document
      .createTexture('seams')
      .setMimeType('image/png')
      .setImage(new Uint8Array(await makeFlatPng()));
    addPart(document, { name: 'part', material: document.createMaterial('part').setNormalTexture(flat), uv: false });
    const model = await (await createIo()).writeBinary(document);
    const { written } = await splicer.splice(model, {
      finishes: [cloth('CLOTH')],
      article,
      rows: [{ part: 'CLOTH' }],
      maps: {},
    });
    // the finish's maps cannot be laid, and the part's own lies by UVs it does not have
    expect(written.findings.map(({ code }) => code)).toEqual(['missing-uv', 'missing-uv']);
  });
});
