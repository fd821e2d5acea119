import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { describe, expect, it } from 'vitest';
import { readAccessor } from '../../../../../server/gltf/document/read-accessor.ts';
import { ModelEdit } from '../../../../../server/gltf/repair/edit/model-edit.ts';
import { unpackGeometry } from '../../../../../server/gltf/repair/edit/unpack-geometry.ts';
import { addPart, createDocument } from '../../../../support/build-model.ts';
import { readGlb } from '../../../../support/glb.ts';
import { createIo } from '../../../../support/gltf-io.ts';
import { repairBytes } from '../../../../support/repair.ts';
import { listValidatorErrors } from '../../../../support/validate.ts';

// Compressed by glTF-Transform with Draco's and meshoptimizer's own encoders, and read back by it to compare.

/** A sheet whose colours and UVs are normalised integers (glTF 2.0 §3.6.2.2). */
function makeSheet() {
  const document = createDocument();
  const primitive = addPart(document, { name: 'sheet', material: null, colours: true }).listPrimitives()[0]!;
  const [colours, uvs] = [primitive.getAttribute('COLOR_0')!, primitive.getAttribute('TEXCOORD_0')!];
  colours.setArray(Uint8Array.from([...colours.getArray()!], (value) => Math.round(value * 255))).setNormalized(true);
  uvs.setArray(Uint16Array.from([...uvs.getArray()!], (value) => Math.round(value * 65535))).setNormalized(true);
  return document;
}

const write = async (document: ReturnType<typeof makeSheet>) => (await createIo()).writeBinary(document);

function editOf(bytes: Uint8Array): ModelEdit {
  const { json, bin } = readGlb(bytes);
  return new ModelEdit(json, bin);
}

describe('geometry that is unpacked', () => {
  it.each(['COLOR_0', 'TEXCOORD_0', 'POSITION'])('from Draco has the values the library reads: %s', async (name) => {
    const document = makeSheet();
    document.createExtension(KHRDracoMeshCompression).setRequired(true);
    const packed = await write(document);
    const edit = editOf(packed);
    expect(await unpackGeometry(edit)).toBeGreaterThan(0);
    const read = (await (await createIo()).readBinary(packed)).getRoot().listMeshes()[0]!.listPrimitives()[0]!;
    const accessor = read.getAttribute(name)!;
    const expected = Array.from({ length: accessor.getCount() }, (_, i) => accessor.getElement(i, [])).flat();
    const { primitives } = edit.json.meshes![0]!;
    const values = [...readAccessor(edit.loaded, primitives[0]!.attributes[name]!)!];
    expect(values).toHaveLength(expected.length);
    values.forEach((value, i) => {
      expect(value).toBeCloseTo(expected[i]!, 5);
    });
    expect(primitives[0]!.extensions).toBeUndefined();
    expect(edit.json.extensionsUsed).toBeUndefined();
  });

  it.each([
    ['Draco', KHRDracoMeshCompression],
    ['meshopt', EXTMeshoptCompression],
  ] as const)('from %s is told of, with the bytes before and after', async (_, extension) => {
    const document = makeSheet();
    document.getRoot().listNodes()[0]!.setScale([2, 2, 2]);
    document.createExtension(extension as typeof EXTMeshoptCompression).setRequired(true);
    const { glb, reports } = await repairBytes(await write(document), [{ repair: 'bake-transforms' }]);
    const { bytesPacked, bytesUnpacked } = reports[0]!.figures as Record<string, number>;
    expect(bytesPacked).toBeGreaterThan(0);
    expect(bytesUnpacked).toBeGreaterThan(bytesPacked!);
    expect(reports[0]!.message).toContain('unpacked compressed geometry');
    expect(await listValidatorErrors(glb)).toEqual([]);
  });

  it('keeps what a primitive has beside Draco', async () => {
    const document = makeSheet();
    document.createExtension(KHRDracoMeshCompression).setRequired(true);
    const edit = editOf(await write(document));
    const [primitive] = edit.json.meshes![0]!.primitives;
    const { count } = edit.json.accessors![primitive!.attributes.POSITION!]!;
    const own = edit.addAccessor(new Float32Array(count).fill(7), 'SCALAR');
    primitive!.attributes._AGE = own;
    expect(await unpackGeometry(edit)).toBeGreaterThan(0);
    expect(primitive!.attributes._AGE).toBe(own);
    expect(primitive!.extensions).toBeUndefined();
    expect([...readAccessor(edit.loaded, own)!]).toEqual(new Array(count).fill(7));
  });
});
