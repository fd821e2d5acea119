import { VertexLayout } from '@gltf-transform/core';
import { EXTMeshoptCompression } from '@gltf-transform/extensions';
import { describe, expect, it } from 'vitest';
import { triangleGlb } from '../../../../support/bad-models.ts';
import { addPart, createDocument } from '../../../../support/build-model.ts';
import { listReadRanges, readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { readRegistryModel } from '../../../../support/registry-models.ts';
import { repairBytes } from '../../../../support/repair.ts';

// The ranges are found by the tests' own reading of glTF 2.0 §3.6.

describe('a model that is written', () => {
  it.each(['oculus-go/none.glb', 'pico-4u/left.glb', 'generic-hand/left.glb'])(
    'without a repair keeps every byte that is read where it was: %s (registry)',
    async (path) => {
      const source = readRegistryModel(path);
      const { glb } = await repairBytes(source, []);
      expect(listReadRanges(readGlb(glb))).toEqual(listReadRanges(readGlb(source)));
      expect(readGlb(glb).json).toEqual(readGlb(source).json);
    },
  );

  it.each([true, false])('leaves out what a repair freed; interleaved: %s', async (interleaved) => {
    const document = createDocument();
    addPart(document, { name: 'sheet', material: null, cells: 40 });
    const io = await createIo();
    if (!interleaved) io.setVertexLayout(VertexLayout.SEPARATE);
    const source = Buffer.from(await io.writeBinary(document));
    let bytes: Buffer = source;
    for (const factor of [2, 2, 2]) {
      bytes = (await repairBytes(bytes, [{ repair: 'scale', factor }])).glb;
      // positions were replaced, and their old bytes are gone; a few bytes of JSON and padding may come on top
      expect(Math.abs(readGlb(bytes).bin.length - readGlb(source).bin.length)).toBeLessThan(16);
    }
    const hashes = (glb: Buffer) =>
      listReadRanges(readGlb(glb)).filter(
        ({ what }) => what === `accessor ${readGlb(glb).json.meshes![0]!.primitives[0]!.indices}`,
      );
    expect(hashes(bytes).map(({ sha256 }) => sha256)).toEqual(hashes(source).map(({ sha256 }) => sha256));
  });

  it('leaves out the bytes of meshopt views that were unpacked', async () => {
    const document = createDocument();
    const mesh = addPart(document, { name: 'sheet', material: null, cells: 40 });
    document.getRoot().listNodes()[0]!.setScale([2, 2, 2]);
    expect(mesh.listPrimitives()).toHaveLength(1);
    const plain = Buffer.from(await (await createIo()).writeBinary(document));
    document.createExtension(EXTMeshoptCompression).setRequired(true);
    const source = Buffer.from(await (await createIo()).writeBinary(document));
    const { glb } = await repairBytes(source, [{ repair: 'bake-transforms' }]);
    expect(Math.abs(readGlb(glb).bin.length - readGlb(plain).bin.length)).toBeLessThan(16);
    expect(readGlb(glb).json.buffers).toHaveLength(1);
  });

  it('keeps all that is there with an extension nobody knows', async () => {
    const source = triangleGlb({ extensionsUsed: ['ACME_hinges'] });
    const { glb } = await repairBytes(source, [{ repair: 'scale', factor: 2 }]);
    const { json } = readGlb(glb);
    expect(json.accessors).toHaveLength(2);
    expect(json.accessors![0]).toEqual(readGlb(source).json.accessors![0]);
  });
});
