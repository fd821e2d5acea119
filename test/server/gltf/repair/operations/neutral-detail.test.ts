import type { Document, Material } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import type { Repair } from '../../../../../server/core/repair/repair.ts';
import type { MaterialJson } from '../../../../../server/gltf/document/json.ts';
import { addPart, createDocument, makeNoisePng } from '../../../../support/build-model.ts';
import { editGlb, type Glb, readGlb, readImage } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

/** IEC 61966-2-1, decoding, written out here once more. */
const linear = (code: number) => {
  const value = code / 255;
  return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
};
/** ITU-R BT.709-6, item 3.2. */
const luminance = ([r, g, b]: readonly number[]) => 0.2126 * linear(r!) + 0.7152 * linear(g!) + 0.0722 * linear(b!);

type Texel = readonly number[];

async function paint(sizePx: number, texel: (x: number, y: number) => Texel): Promise<Uint8Array> {
  const codes: number[] = [];
  for (let y = 0; y < sizePx; y++) for (let x = 0; x < sizePx; x++) codes.push(...texel(x, y));
  const channels = texel(0, 0).length as 3 | 4;
  return new Uint8Array(
    await sharp(Buffer.from(codes), { raw: { width: sizePx, height: sizePx, channels } })
      .png()
      .toBuffer(),
  );
}

/** One part that wears a colour map; UVs run once from 0 to 1. */
async function makeModel(image: Uint8Array, dress: (material: Material, document: Document) => unknown = () => {}) {
  const document = createDocument();
  const texture = document
    .createTexture('cloth')
    .setMimeType('image/png')
    .setImage(image as never);
  const material = document.createMaterial('Cloth').setBaseColorTexture(texture);
  await dress(material, document);
  addPart(document, { name: 'part', material });
  return (await createIo()).writeBinary(document);
}

const ALL: Repair = { repair: 'neutral-detail' };

const meanOf = (material: MaterialJson) => (material.extras as { neutralDetail: { mean: number } }).neutralDetail.mean;

/** The map a material wears, and its linear mean: grey decoded by sharp, the mean by our own sum. */
async function readDetail(glb: Glb, index = 0) {
  const info = glb.json.materials![index]!.pbrMetallicRoughness!.baseColorTexture!;
  const png = readImage(glb, glb.json.textures![info.index]!.source!)!;
  const { channels, space } = await sharp(png).metadata();
  const { data } = await sharp(png).extractChannel(0).raw().toBuffer({ resolveWithObject: true });
  return {
    info,
    png,
    channels,
    space,
    codes: [...data],
    mean: data.reduce((sum, code) => sum + linear(code), 0) / data.length,
  };
}

describe('neutral-detail', () => {
  it('keeps the luminance of a pattern, scaled so that its largest is 1, and drops its hue', async () => {
    const image = await makeNoisePng(11, 32);
    const { glb, reports } = await repairBytes(await makeModel(image), [ALL]);
    expect(await listValidatorErrors(glb)).toEqual([]);
    const detail = await readDetail(readGlb(glb));
    expect([detail.channels, detail.space]).toEqual([1, 'b-w']);
    const { data } = await sharp(image).raw().toBuffer({ resolveWithObject: true });
    const wanted = detail.codes.map((_, i) => luminance([...data.subarray(i * 3, i * 3 + 3)]));
    const largest = Math.max(...wanted);
    detail.codes.forEach((code, i) => {
      // half a code of rounding, on the steep end of the curve 1/255/2 in linear light
      expect(Math.abs(linear(code) - wanted[i]! / largest)).toBeLessThan(0.005);
    });
    expect(Math.max(...detail.codes)).toBe(255);
    expect(reports[0]).toMatchObject({ outcome: 'done', touchesGeometry: false });
    expect(reports[0]!.figures).toMatchObject({
      images: 1,
      materials: 1,
      bytesBefore: image.length,
      bytesAfter: detail.png.length,
    });
  });

  it('records the linear mean of what it wrote, and the factor brings the mean colour back', async () => {
    const pattern = await paint(16, (x, y) => ((x + y) % 2 ? [180, 90, 40] : [60, 30, 20]));
    const source = await makeModel(pattern, (material) => material.setBaseColorFactor([0.9, 0.8, 1, 0.5]));
    const { glb } = await repairBytes(source, [ALL]);
    const after = readGlb(glb);
    const material = after.json.materials![0]!;
    const { mean } = await readDetail(after);
    expect(meanOf(material)).toBeCloseTo(mean, 9);
    const factor = material.pbrMetallicRoughness!.baseColorFactor!;
    // mean of the texels in linear light, times the factor there was
    [180, 90, 40].forEach((code, c) => {
      const was = ((linear(code) + linear([60, 30, 20][c]!)) / 2) * [0.9, 0.8, 1][c]!;
      expect(factor[c]! * mean).toBeCloseTo(was, 6);
    });
    expect(factor[3]).toBe(0.5);
  });

  it('keeps alpha, and means only what is seen of a part with holes', async () => {
    const cane = await paint(16, (x) => (x % 2 ? [200, 160, 90, 255] : [0, 0, 0, 0]));
    const { glb } = await repairBytes(await makeModel(cane, (material) => material.setAlphaMode('MASK')), [ALL]);
    const after = readGlb(glb);
    const { png, channels } = await readDetail(after);
    expect(channels).toBe(2);
    const alpha = await sharp(png).extractChannel('alpha').raw().toBuffer();
    expect([...alpha.subarray(0, 4)]).toEqual([0, 255, 0, 255]);
    // all that is seen is of one colour, so it is white and the factor is that colour
    expect(meanOf(after.json.materials![0]!)).toBe(1);
    [200, 160, 90].forEach((code, c) => {
      expect(after.json.materials![0]!.pbrMetallicRoughness!.baseColorFactor![c]).toBeCloseTo(linear(code), 6);
    });
  });

  it('takes of a shared atlas only what a material shows: each is as light as its own lightest texel', async () => {
    // left half light, right half dark; each material’s UVs are moved onto one half
    const atlas = await paint(32, (x) => (x < 16 ? [240, 230, 200] : [40, 30, 20]));
    const document = createDocument();
    const transforms = document.createExtension(KHRTextureTransform);
    const texture = document
      .createTexture('atlas')
      .setMimeType('image/png')
      .setImage(atlas as never);
    for (const [name, offset] of [
      ['light', 0.01],
      ['dark', 0.51],
    ] as const) {
      const material = document.createMaterial(name).setBaseColorTexture(texture);
      const transform = transforms.createTransform().setScale([0.48, 1]).setOffset([offset, 0]);
      material.getBaseColorTextureInfo()!.setExtension('KHR_texture_transform', transform);
      addPart(document, { name, material });
    }
    const { glb, reports } = await repairBytes(await (await createIo()).writeBinary(document), [ALL]);
    const { json } = readGlb(glb);
    // the dark half would else have a mean of 0.02, and no light finish could be reached on it
    expect(json.images).toHaveLength(2);
    for (const mean of json.materials!.map(meanOf)) expect(mean).toBeCloseTo(1, 6);
    // each looks as it did: factor × mean is the half's colour
    json.materials!.forEach((material, i) => {
      const colour = [
        [240, 230, 200],
        [40, 30, 20],
      ][i]!;
      colour.forEach((code, c) => {
        const factor = material.pbrMetallicRoughness!.baseColorFactor![c]!;
        // where a channel is more vivid than white can carry it is cut to 1
        expect(factor * meanOf(material)).toBeCloseTo(Math.min(linear(code), meanOf(material)), 6);
      });
      expect(material.pbrMetallicRoughness!.baseColorTexture!.extensions!.KHR_texture_transform).toMatchObject({
        scale: [0.48, 1],
      });
    });
    expect(reports[0]!.figures).toMatchObject({ images: 2, materials: 2 });
  });

  it('leaves the image to what else uses it, and other materials as they are', async () => {
    const image = await makeNoisePng(12, 16);
    const source = await makeModel(image, (material, document) => {
      material.setEmissiveTexture(material.getBaseColorTexture()).setEmissiveFactor([1, 1, 1]);
      const other = document.createMaterial('Other').setBaseColorTexture(material.getBaseColorTexture());
      addPart(document, { name: 'other', material: other });
    });
    const { glb } = await repairBytes(source, [{ repair: 'neutral-detail', materials: ['Cloth'] }]);
    const after = readGlb(glb);
    const [cloth, other] = after.json.materials!;
    expect(other).toEqual(readGlb(source).json.materials![1]);
    expect(readImage(after, after.json.textures![cloth!.emissiveTexture!.index]!.source!)).toEqual(Buffer.from(image));
    expect(after.json.images).toHaveLength(2);
    expect((await readDetail(after)).channels).toBe(1);
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('frees the old image, and leaves geometry as it was', async () => {
    const source = await makeModel(await makeNoisePng(13, 16));
    const { glb } = await repairBytes(source, [ALL]);
    const [before, after] = [readGlb(source), readGlb(glb)];
    expect(after.json.images).toHaveLength(1);
    const strip = ({ json }: Glb) => json.accessors!.map(({ bufferView: _, ...rest }) => rest);
    expect(strip(after)).toEqual(strip(before));
    expect(after.json.meshes).toEqual(before.json.meshes);
  });

  it('does a map once only, and says what it cannot read', async () => {
    const once = await repairBytes(await makeModel(await makeNoisePng(14, 16)), [ALL]);
    const twice = await repairBytes(once.glb, [ALL]);
    expect(twice.reports[0]!.outcome).toBe('nothing-to-do');
    expect(readGlb(twice.glb).json).toEqual(readGlb(once.glb).json);

    const damaged = editGlb(await makeModel(await makeNoisePng(15, 16)), (json) => {
      json.images![0] = { uri: 'data:image/png;base64,iVBORw0KGgo=' };
    });
    const { reports } = await repairBytes(damaged, [ALL], 'lenient');
    expect(reports[0]).toMatchObject({ outcome: 'unfit' });
    expect(reports[0]!.message).toContain('“Cloth”');
  });

  it('keeps extras of others, and what the material is besides', async () => {
    const source = editGlb(await makeModel(await makeNoisePng(16, 16)), (json) => {
      json.materials![0]!.extras = { article: 'A7' };
      json.materials![0]!.doubleSided = true;
    });
    const [material] = readGlb((await repairBytes(source, [ALL])).glb).json.materials!;
    expect(material).toMatchObject({ name: 'Cloth', doubleSided: true, extras: { article: 'A7' } });
  });
});
