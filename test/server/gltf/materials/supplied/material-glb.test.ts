import { validateBytes } from 'gltf-validator';
import { describe, expect, it } from 'vitest';
import { extractMaterial } from '../../../../../server/gltf/materials/supplied/material-glb.ts';
import { makeNoisePng } from '../../../../support/build-model.ts';
import { type Glb, makeGlb, readGlb } from '../../../../support/glb.ts';
import { createStool } from '../../../../support/model-with-variants.ts';
import { expectRefusal } from '../../../../support/refusal.ts';
import { resolveMaterial } from '../../../../support/resolve-material.ts';

/** One PNG and one stand-in for a WebP in a BIN chunk, a texture of each, and a material that shows both. */
async function makeSource(): Promise<Glb> {
  const png = Buffer.from(await makeNoisePng(1, 8));
  const webp = Buffer.from(await makeNoisePng(2, 8));
  const json = {
    asset: { version: '2.0' },
    extensionsUsed: ['EXT_texture_webp', 'KHR_xmp_json_ld', 'MADE_UP_glow', 'KHR_mesh_quantization'],
    extensionsRequired: ['KHR_mesh_quantization', 'EXT_texture_webp'],
    buffers: [{ byteLength: png.length + webp.length }],
    bufferViews: [
      { buffer: 0, byteLength: png.length },
      { buffer: 0, byteOffset: png.length, byteLength: webp.length },
    ],
    images: [
      { uri: `data:image/png;base64,${png.toString('base64')}`, name: 'inline' },
      { bufferView: 1, mimeType: 'image/webp', name: 'packed', extras: { from: 'scan' } },
    ],
    samplers: [{}, { wrapS: 33071, name: 'edge' }],
    textures: [
      { source: 0, sampler: 1, name: 'one' },
      { extensions: { EXT_texture_webp: { source: 1 } }, extras: { n: 1 } },
    ],
    materials: [
      { name: 'other' },
      {
        name: 'glowing',
        pbrMetallicRoughness: { baseColorTexture: { index: 1, texCoord: 1 } },
        normalTexture: { index: 0, scale: 0.5, extensions: { KHR_texture_transform: { offset: [0.1, 0] } } },
        extensions: {
          MADE_UP_glow: { glowTexture: { index: 1 }, index: 5, strength: 2 },
          KHR_xmp_json_ld: { packet: 3 },
        },
        extras: { likesTexture: { index: 1 } },
      },
    ],
  };
  return readGlb(makeGlb(json, Buffer.concat([png, webp])));
}

describe('a material on its own', () => {
  it('holds everything the material refers to, as it stands in the model', async () => {
    const source = await makeSource();
    const alone = readGlb(extractMaterial(source as never, 1));
    const { extensions, ...expected } = resolveMaterial(source, 1) as { extensions: Record<string, unknown> };
    const { KHR_xmp_json_ld: _, ...kept } = extensions;
    expect(resolveMaterial(alone, 0)).toEqual({ ...expected, extensions: kept });
    expect(alone.json.images!.map(({ name, mimeType }) => [name, mimeType])).toEqual(
      expect.arrayContaining([
        ['inline', 'image/png'],
        ['packed', 'image/webp'],
      ]),
    );
    expect(alone.json.images).toContainEqual(expect.objectContaining({ extras: { from: 'scan' } }));
    // glTF 2.0 §3.12: what is used is declared; what the model required stays required, as far as it is used here
    expect(alone.json.extensionsUsed).toEqual(['EXT_texture_webp', 'KHR_texture_transform', 'MADE_UP_glow']);
    expect(alone.json.extensionsRequired).toEqual(['EXT_texture_webp']);
    expect(alone.json.materials).toHaveLength(1);
    expect(alone.json.meshes).toBeUndefined();
  });

  it('is a valid file, and the same bytes each time', async () => {
    const source = readGlb(await createStool());
    for (const index of source.json.materials!.keys()) {
      const bytes = extractMaterial(source as never, index);
      expect(extractMaterial(readGlb(await createStool()) as never, index).equals(bytes)).toBe(true);
      const report = (await validateBytes(new Uint8Array(bytes))) as { issues: { numErrors: number } };
      expect(report.issues.numErrors).toBe(0);
    }
  });

  it('is refused where an image has no bytes', async () => {
    const source = await makeSource();
    source.json.images![0] = { bufferView: 0, mimeType: 'image/png' };
    source.json.bufferViews![0]!.buffer = 1;
    await expectRefusal(() => extractMaterial(source as never, 1), 'model-broken-reference');
  });
});
