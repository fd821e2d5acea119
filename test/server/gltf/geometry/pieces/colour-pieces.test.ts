import { Document } from '@gltf-transform/core';
import { KHRTextureTransform } from '@gltf-transform/extensions';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { addSolid, makeGrid } from '../../../../support/make-solid.ts';
import { surveyDocument } from '../../../../support/survey.ts';

/** An atlas: left half red, right half in stripes of black and white, one pixel each. */
async function makeAtlas(): Promise<Uint8Array<ArrayBuffer>> {
  const raw = Buffer.from(
    Array.from({ length: 64 * 64 }, (_, i) => {
      if (i % 64 < 32) return [200, 30, 40];
      return i % 2 === 0 ? [0, 0, 0] : [255, 255, 255];
    }).flat(),
  );
  const png = await sharp(raw, { raw: { width: 64, height: 64, channels: 3 } })
    .png()
    .toBuffer();
  return new Uint8Array(png);
}

/** A sheet of one metre at `x`, its UVs a part of the atlas. */
function makeSheet(x: number, [u0, u1]: readonly [number, number]) {
  const sheet = makeGrid(16, 16, (u, v) => [x + u, v, 0]);
  return { ...sheet, uvs: sheet.uvs.map((value, i) => (i % 2 === 0 ? u0 + value * (u1 - u0) : value)) };
}

async function paint(
  change: (material: import('@gltf-transform/core').Material, document: Document) => void = () => {},
) {
  const document = new Document();
  const texture = document
    .createTexture('atlas')
    .setImage(await makeAtlas())
    .setMimeType('image/png');
  const material = document.createMaterial('baked').setBaseColorTexture(texture);
  change(material, document);
  addSolid(document, 'red', makeSheet(0, [0.1, 0.4]), material);
  addSolid(document, 'grey', makeSheet(2, [0.5, 1]), material);
  const { pieces } = await surveyDocument(document);
  return Object.fromEntries(pieces.map(({ nodes, hex }) => [nodes[0], hex]));
}

const codes = (hex: string | null | undefined) => [1, 3, 5].map((at) => Number.parseInt(hex!.slice(at, at + 2), 16));

describe('the colour of a piece', () => {
  // sRGB by IEC 61966-2-1: half of full light is code 188.
  it('is the mean of what its UVs show, in linear light', async () => {
    const { red, grey } = await paint();
    expect(red).toBe('#c81e28');
    for (const code of codes(grey)) expect(Math.abs(code - 188)).toBeLessThanOrEqual(4);
  });

  it('has the factor in it', async () => {
    const { red } = await paint((material) => material.setBaseColorFactor([0.5, 1, 1, 1]));
    // half the light of code 200 is code 146: 0.5776 · 0.5 = 0.2888, 1.055 · 0.2888^(1/2.4) − 0.055 = 0.5739
    expect(codes(red)).toEqual([146, 30, 40]);
  });

  it('is looked up where KHR_texture_transform lays the map', async () => {
    const { red } = await paint((material, document) => {
      const extension = document.createExtension(KHRTextureTransform);
      material
        .getBaseColorTextureInfo()!
        .setExtension('KHR_texture_transform', extension.createTransform().setOffset([0.5, 0]));
    });
    const [r, g, b] = codes(red);
    expect(Math.max(r!, g!, b!) - Math.min(r!, g!, b!)).toBe(0);
  });

  it('is not told without a map', async () => {
    expect(await paint((material) => material.setBaseColorTexture(null))).toEqual({ red: null, grey: null });
  });
});
