import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Document } from '@gltf-transform/core';
import { EXTMeshoptCompression, KHRDracoMeshCompression } from '@gltf-transform/extensions';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Survey } from '../../../../server/core/product/survey.ts';
import type { GltfJson } from '../../../../server/gltf/document/json.ts';
import { lendModels } from '../../../support/engines.ts';
import { editGlb } from '../../../support/glb.ts';
import { createIo } from '../../../support/gltf-io.ts';

// Compression changes how bytes are stored, not what is measured: EXT_meshopt_compression and KHR_draco_mesh_compression
// (KhronosGroup/glTF 77b44be). The encoders are meshoptimizer's and draco3dgltf's own.

const models = lendModels();
let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-survey-'));
});
afterAll(async () => {
  await models.close();
  await rm(folder, { recursive: true, force: true });
});

/** A square of half a metre, one UV unit wide, turned by 45° about the upright. */
function makeSquare(): Document {
  const document = new Document();
  const buffer = document.createBuffer();
  const accessor = (type: 'VEC2' | 'VEC3' | 'SCALAR', array: Float32Array<ArrayBuffer> | Uint16Array<ArrayBuffer>) =>
    document.createAccessor().setType(type).setArray(array).setBuffer(buffer);
  const primitive = document
    .createPrimitive()
    .setAttribute('POSITION', accessor('VEC3', new Float32Array([0, 0, 0, 0.5, 0, 0, 0, 0.5, 0, 0.5, 0.5, 0])))
    .setAttribute('TEXCOORD_0', accessor('VEC2', new Float32Array([0, 1, 1, 1, 0, 0, 1, 0])))
    .setIndices(accessor('SCALAR', new Uint16Array([0, 1, 2, 2, 1, 3])))
    .setMaterial(document.createMaterial('cloth'));
  const node = document.createNode('square').setMesh(document.createMesh('square').addPrimitive(primitive));
  document.createScene().addChild(node.setRotation([0, Math.sin(Math.PI / 8), 0, Math.cos(Math.PI / 8)]));
  return document;
}

async function survey(
  change: (document: Document) => void,
  edit: (json: GltfJson) => void = () => {},
): Promise<Survey> {
  const document = makeSquare();
  change(document);
  const path = join(folder, `${Math.random()}.glb`);
  await writeFile(path, editGlb(await (await createIo()).writeBinary(document), edit));
  return (await models.survey(path, 'model/gltf-binary')).survey;
}

const packWithDraco = (document: Document) => {
  const options = { quantizationBits: { POSITION: 16, TEX_COORD: 16 } };
  document.createExtension(KHRDracoMeshCompression).setRequired(true).setEncoderOptions(options);
};

// KHR_draco_mesh_compression allows the mode TRIANGLE_STRIP. Draco's GetTrianglesUInt32Array returns a list of triangles
// whatever the mode, and this service's studio draws it as such.
it('Draco geometry of the mode TRIANGLE_STRIP is measured as the list of triangles that Draco decodes', async () => {
  const list = await survey(packWithDraco);
  for (const count of [6, 4]) {
    const strip = await survey(packWithDraco, ({ meshes, accessors }) => {
      const [primitive] = meshes![0]!.primitives;
      primitive!.mode = 5;
      accessors![primitive!.indices!]!.count = count;
    });
    expect(strip.faults).toEqual([]);
    expect(strip.counts).toEqual(list.counts);
    expect(strip.materials).toEqual(list.materials);
    expect(strip.primitives).toEqual(list.primitives);
    expect(strip.counts.triangles).toBe(2);
    expect(strip.materials[0]!.areaM2).toBeCloseTo(0.25, 4);
  }
});

describe.each([
  ['plain', () => {}, 'none'],
  [
    'meshopt',
    (document: Document) => {
      const method = EXTMeshoptCompression.EncoderMethod.QUANTIZE;
      document.createExtension(EXTMeshoptCompression).setRequired(true).setEncoderOptions({ method });
    },
    'meshopt',
  ],
  ['Draco', packWithDraco, 'draco'],
] as const)('%s', (_, change, compression) => {
  it('is measured the same: size in a turned node, and metres per UV unit', async () => {
    const { size, sizeIsExact, materials, primitives } = await survey(change);
    expect(primitives[0]!.compression).toBe(compression);
    expect(materials[0]!.metresPerUv).toBeCloseTo(0.5, 3);
    expect(sizeIsExact).toBe(true);
    expect(size!.widthMm).toBeCloseTo(500 * Math.SQRT1_2, 0);
    expect(size!.depthMm).toBeCloseTo(500 * Math.SQRT1_2, 0);
    expect(size!.heightMm).toBeCloseTo(500, 0);
  });
});
