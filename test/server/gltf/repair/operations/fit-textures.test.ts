import type { Document, Material } from '@gltf-transform/core';
import { EXTTextureWebP } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import type { RepairOf } from '../../../../../server/core/repair/repair.ts';
import { readJpegQuality } from '../../../../../server/images/read-header.ts';
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

type Bytes = Uint8Array;
type Put = (image: Bytes, mimeType?: string) => ReturnType<Document['createTexture']>;

async function makeModel(dress: (material: Material, put: Put, document: Document) => unknown): Promise<Uint8Array> {
  const document = createDocument();
  const material = document.createMaterial('m');
  const put: Put = (image, mimeType = 'image/png') =>
    document.createTexture('map').setMimeType(mimeType).setImage(new Uint8Array(image));
  await dress(material, put, document);
  addPart(document, { name: 'part', material });
  return (await createIo()).writeBinary(document);
}

const ask = (given: Partial<RepairOf<'fit-textures'>> = {}): RepairOf<'fit-textures'> => ({
  repair: 'fit-textures',
  ...given,
});

async function decode(glb: Glb, image = 0) {
  const bytes = readImage(glb, image)!;
  const { format, hasAlpha } = await sharp(bytes).metadata();
  const { data, info } = await sharp(bytes).toColourspace('srgb').raw().toBuffer({ resolveWithObject: true });
  return { ...info, bytes, format, hasAlpha, data };
}

function means({ data, channels }: { data: Buffer; channels: number }, read: (code: number) => number): number[] {
  const sums = [0, 0, 0];
  for (let i = 0; i < data.length; i += channels) for (const c of [0, 1, 2]) sums[c]! += read(data[i + c]!);
  return sums.map((sum) => sum / (data.length / channels));
}

/** Stripes of two tones: where light and codes are mixed differently, they differ most. */
const makeStripes = (widthPx: number, heightPx = widthPx) => {
  const codes = Array.from({ length: widthPx * heightPx }, (_, i) => (i % 3 === 0 ? [250, 220, 40] : [10, 60, 200]));
  return sharp(Buffer.from(codes.flat()), { raw: { width: widthPx, height: heightPx, channels: 3 } })
    .png()
    .toBuffer();
};

describe('fit-textures: size', () => {
  it('brings the longest side down, and keeps the mean of colour in linear light to 1/255', async () => {
    for (const [widthPx, heightPx, sizePx] of [
      [96, 96, 32],
      [200, 120, 64],
      [130, 130, 97],
    ] as const) {
      const source = await makeModel(async (m, put) =>
        m.setBaseColorTexture(put(await makeStripes(widthPx, heightPx))),
      );
      const { glb, reports } = await repairBytes(source, [ask({ sizePx })]);
      const [before, after] = [await decode(readGlb(source)), await decode(readGlb(glb))];
      expect([after.width, after.height]).toEqual([sizePx, Math.round((sizePx * heightPx) / widthPx)]);
      const [was, is] = [means(before, linear), means(after, linear)];
      for (const c of [0, 1, 2]) expect(Math.abs(was[c]! - is[c]!)).toBeLessThan(1 / 255);
      expect(await listValidatorErrors(glb)).toEqual([]);
      expect(reports[0]!.figures).toMatchObject({
        images: 1,
        sizePx,
        bytesBefore: before.bytes.length,
        bytesAfter: after.bytes.length,
      });
    }
  });

  it('mixes all that is no colour as numbers, also to 1/255', async () => {
    const source = await makeModel(async (m, put) =>
      m.setMetallicRoughnessTexture(put(await makeStripes(96))).setNormalTexture(put(await makeNoisePng(3, 96))),
    );
    const { glb } = await repairBytes(source, [ask({ sizePx: 32 })]);
    for (const image of [0, 1]) {
      const was = means(await decode(readGlb(source), image), (code) => code / 255);
      const is = means(await decode(readGlb(glb), image), (code) => code / 255);
      for (const c of [0, 1, 2]) expect(Math.abs(was[c]! - is[c]!)).toBeLessThan(1 / 255);
    }
  });

  it('lets what is not seen bleed into no edge of a part with holes', async () => {
    const cane = Buffer.from(
      Array.from({ length: 64 * 64 }, (_, i) => (i % 2 ? [200, 150, 80, 255] : [0, 0, 0, 0])).flat(),
    );
    const png = await sharp(cane, { raw: { width: 64, height: 64, channels: 4 } })
      .png()
      .toBuffer();
    const source = await makeModel((m, put) => m.setBaseColorTexture(put(png)).setAlphaMode('BLEND'));
    const { data } = await decode(readGlb((await repairBytes(source, [ask({ sizePx: 16 })])).glb));
    [200, 150, 80].forEach((code, c) => {
      expect(Math.abs(data[c]! - code)).toBeLessThanOrEqual(1);
    });
    expect(data[3]).toBe(128);
  });

  it('only makes smaller: what is small enough stays to the byte', async () => {
    const source = await makeModel(async (m, put) => m.setBaseColorTexture(put(await makeStripes(64))));
    const { glb, reports } = await repairBytes(source, [ask({ sizePx: 64 })]);
    expect(reports[0]!.outcome).toBe('nothing-to-do');
    expect(readImage(readGlb(glb), 0)).toEqual(readImage(readGlb(source), 0));
  });
});

describe('fit-textures: format', () => {
  it('writes JPEG at the quality asked for, and leaves what is not opaque and normal maps without loss', async () => {
    const source = await makeModel(async (m, put) => {
      m.setBaseColorTexture(put(await makeNoisePng(5, 64)));
      m.setEmissiveTexture(put(await makeNoisePng(6, 64, true)));
      m.setNormalTexture(put(await makeNoisePng(7, 64)));
    });
    const { glb } = await repairBytes(source, [ask({ format: 'jpg', quality: 80 })]);
    const after = readGlb(glb);
    const { json } = after;
    const imageOf = (index: number) => json.textures![index]!.source!;
    const [{ pbrMetallicRoughness, emissiveTexture, normalTexture }] = json.materials as [
      Required<(typeof json.materials & {})[0]>,
    ];
    const colour = imageOf(pbrMetallicRoughness.baseColorTexture!.index);
    expect(readJpegQuality(readImage(after, colour)!)).toBe(80);
    expect(json.images![colour]!.mimeType).toBe('image/jpeg');
    for (const info of [emissiveTexture, normalTexture]) {
      expect(json.images![imageOf(info.index)]!.mimeType).toBe('image/png');
      expect((await decode(after, imageOf(info.index))).format).toBe('png');
    }
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('writes WebP by its extension, normal maps without loss', async () => {
    const normal = await makeNoisePng(8, 64);
    const source = await makeModel(async (m, put) => {
      m.setBaseColorTexture(put(await makeNoisePng(9, 64))).setNormalTexture(put(normal));
    });
    const { glb } = await repairBytes(source, [ask({ format: 'webp' })]);
    const after = readGlb(glb);
    const { json } = after;
    // KhronosGroup/glTF 77b44be, extensions/2.0/Vendor/EXT_texture_webp: required where there is no fallback
    expect(json.extensionsUsed).toContain('EXT_texture_webp');
    expect(json.extensionsRequired).toContain('EXT_texture_webp');
    for (const texture of json.textures!) {
      expect(texture.source).toBeUndefined();
      const image = texture.extensions!.EXT_texture_webp!.source as number;
      expect(json.images![image]!.mimeType).toBe('image/webp');
      expect((await decode(after, image)).format).toBe('webp');
    }
    const info = json.materials![0]!.normalTexture!;
    const image = json.textures![info.index]!.extensions!.EXT_texture_webp!.source as number;
    expect((await decode(after, image)).data).toEqual(await sharp(normal).raw().toBuffer());
    expect(await listValidatorErrors(glb)).toEqual([]);

    const back = readGlb((await repairBytes(glb, [ask({ format: 'jpg', quality: 40 })])).glb);
    const colour = back.json.textures![back.json.materials![0]!.pbrMetallicRoughness!.baseColorTexture!.index]!;
    expect(colour.extensions).toBeUndefined();
    expect(back.json.images![colour.source!]!.mimeType).toBe('image/jpeg');
    // the normal map would only grow as PNG, and still needs the extension
    expect(back.json.extensionsRequired).toContain('EXT_texture_webp');
  });

  it('keeps a fallback as it is, so that old readers still have something to show', async () => {
    const source = await makeModel(async (m, put, document) => {
      document.createExtension(EXTTextureWebP).setRequired(false);
      m.setBaseColorTexture(put(await makeStripes(96)));
      m.setEmissiveTexture(
        put(
          await sharp(await makeStripes(96))
            .webp({ lossless: true })
            .toBuffer(),
          'image/webp',
        ),
      );
    });
    const paired = editGlb(source, (json) => {
      const webp = json.textures!.findIndex(({ extensions }) => extensions?.EXT_texture_webp);
      json.textures![1 - webp]!.extensions = json.textures![webp]!.extensions!;
    });
    const { glb } = await repairBytes(paired, [ask({ sizePx: 32, format: 'jpg' })]);
    const { json } = readGlb(glb);
    const pair = json.textures!.find(({ source: fallback }) => fallback !== undefined)!;
    expect(json.images![pair.source!]!.mimeType).toBe('image/png');
    expect(json.images![pair.extensions!.EXT_texture_webp!.source as number]!.mimeType).toBe('image/webp');
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('leaves what would grow: a small JPEG of noise as PNG, a JPEG normal map', async () => {
    const jpeg = await sharp(await makeNoisePng(10, 64))
      .jpeg({ quality: 50 })
      .toBuffer();
    const source = await makeModel((m, put) =>
      m.setBaseColorTexture(put(jpeg, 'image/jpeg')).setNormalTexture(put(jpeg, 'image/jpeg')),
    );
    const { glb, reports } = await repairBytes(source, [ask({ format: 'png' })]);
    expect(reports[0]!.outcome).toBe('nothing-to-do');
    expect(readGlb(glb).json).toEqual(readGlb(source).json);
    // made smaller, the normal map stays the JPEG it came as
    const smaller = readGlb((await repairBytes(source, [ask({ sizePx: 48 })])).glb);
    expect(new Set(smaller.json.images!.map(({ mimeType }) => mimeType))).toEqual(new Set(['image/jpeg']));
  });

  it('writes a JPEG again only to come down to a quality that was asked for', async () => {
    const jpeg = await sharp(await makeNoisePng(20, 64))
      .jpeg({ quality: 95 })
      .toBuffer();
    const source = await makeModel((m, put) => m.setBaseColorTexture(put(jpeg, 'image/jpeg')));
    const quality = async (given: Partial<RepairOf<'fit-textures'>>) =>
      readJpegQuality(readImage(readGlb((await repairBytes(source, [ask(given)])).glb), 0)!);
    expect(await quality({ quality: 85 })).toBe(85);
    expect(await quality({ quality: 100 })).toBe(95);
    expect(await quality({ format: 'jpg' })).toBe(95);
  });
});

describe('fit-textures: what it leaves', () => {
  it('is what cannot be read, and KTX2, both said', async () => {
    const whole = await makeStripes(96);
    const source = await makeModel(async (m, put) => {
      m.setBaseColorTexture(put(whole));
      m.setEmissiveTexture(put(whole.subarray(0, whole.length - 30)));
      m.setOcclusionTexture(put(Buffer.from([0xab, 0x4b, 0x54, 0x58, 0x20, 0x32, 0x30, 0xbb, 0x0d, 0x0a, 0x1a, 0x0a])));
    });
    const { glb, reports } = await repairBytes(source, [ask({ sizePx: 32 })]);
    expect(reports[0]!.figures.images).toBe(1);
    expect(reports[0]!.message).toMatch(/1 in KTX2/);
    expect(reports[0]!.message).toMatch(/cannot be read/);
    const [before, after] = [readGlb(source), readGlb(glb)];
    for (const image of [1, 2]) expect(readImage(after, image)).toEqual(readImage(before, image));
    expect(after.json.materials).toEqual(before.json.materials);
    expect(after.json.meshes).toEqual(before.json.meshes);
  });

  it('is all, where size or quality is no such thing', async () => {
    const source = await makeModel(async (m, put) => m.setBaseColorTexture(put(await makeStripes(96))));
    for (const wrong of [{ sizePx: 0 }, { sizePx: 1.5 }, { quality: 101 }]) {
      const { reports, glb } = await repairBytes(source, [ask(wrong)], 'lenient');
      expect(reports[0]!.outcome).toBe('unfit');
      expect(readGlb(glb).json).toEqual(readGlb(source).json);
    }
  });
});
