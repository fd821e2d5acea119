import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import type { Finish } from '../../../../server/core/finish/finish.ts';
import type { MaterialJson } from '../../../../server/gltf/document/json.ts';
import { addPart, createDocument } from '../../../support/build-model.ts';
import { materialsByVariant, readImage } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';
import { ADOBE_RGB, makeRgbProfile } from '../../../support/icc.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { createSplicer } from '../../../support/splice.ts';
import { writePng } from '../../../support/write-png.ts';

const splicer = createSplicer();
const io = createIo();
afterAll(() => splicer.close());

const icc = makeRgbProfile(ADOBE_RGB);
const texels = [90, 197, 58, 200, 100, 50, 1, 254, 128, 17, 34, 51];
const profiled = writePng({ type: 'rgb', bits: 8, widthPx: 2, codes: texels, icc });
const deepCodes = [65535, 33023, 128, 65408, 0, 257];
const deep = writePng({ type: 'rgb', bits: 16, widthPx: 2, codes: deepCodes });
const tile = { widthMm: 100, heightMm: 100 };
const [PROFILED, DEEP] = ['a'.repeat(64), 'b'.repeat(64)];

/** The images a delivered finish refers to, as they stand in the file. */
async function deliver(given: Partial<Finish>) {
  const document = createDocument();
  addPart(document, { name: 'part', material: document.createMaterial('part'), size: 1, uv: true });
  const spliced = await splicer.splice(await (await io).writeBinary(document), {
    finishes: [makeFinish('F', { tile, ...given })],
    rows: [{ part: 'F' }],
    maps: {
      [PROFILED]: { bytes: profiled, mimeType: 'image/png' },
      [DEEP]: { bytes: deep, mimeType: 'image/png' },
    },
  });
  const { output } = spliced;
  const { normalTexture, pbrMetallicRoughness: pbr }: MaterialJson =
    output.json.materials![materialsByVariant(output, 0, 0)[0]!]!;
  const read = (texture: { readonly index: number } | undefined) =>
    texture && readImage(output, output.json.textures![texture.index]!.source!);
  return {
    colour: read(pbr?.baseColorTexture),
    roughness: read(pbr?.metallicRoughnessTexture),
    normal: read(normalTexture),
  };
}

const decode = async (image: Buffer | null | undefined) => [
  ...(await sharp(image!, { ignoreIcc: true }).raw().toBuffer()),
];

describe('data maps in a delivery', () => {
  it('on a metal have the codes of the upload in red and green, for all that a profile says', async () => {
    // glTF 2.0 §3.8.3: profiles are ignored; §3.9.2: roughness is green, metalness blue
    const { roughness } = await deliver({ family: 'bare-metal', maps: { roughness: PROFILED } });
    expect((await sharp(roughness!).metadata()).hasProfile).toBe(false);
    expect(await decode(roughness)).toEqual(texels.map((code, i) => (i % 3 === 2 ? 255 : code)));
  });

  it('on anything else go in byte for byte, 16 bits included', async () => {
    for (const [digest, bytes] of [
      [PROFILED, profiled],
      [DEEP, deep],
    ] as const) {
      const { roughness, normal } = await deliver({ maps: { roughness: digest, normal: digest } });
      expect(roughness!.equals(bytes)).toBe(true);
      expect(normal!.equals(bytes)).toBe(true);
    }
  });
});

describe('a colour map in a delivery', () => {
  it('of 16 bits per channel has 8, rounded (glTF 2.0 §3.9.2: 8-bit values)', async () => {
    const { colour } = await deliver({ maps: { colour: DEEP } });
    expect(await sharp(colour!).metadata()).toMatchObject({ depth: 'uchar' });
    // PNG, third edition, §13.12
    expect(await decode(colour)).toEqual(deepCodes.map((code) => Math.floor((code * 255) / 65535 + 0.5)));
  });

  it('of 8 bits goes in byte for byte', async () => {
    const { colour } = await deliver({ maps: { colour: PROFILED } });
    expect(colour!.equals(profiled)).toBe(true);
  });
});
