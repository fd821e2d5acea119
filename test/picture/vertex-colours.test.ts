import { Document, NodeIO } from '@gltf-transform/core';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startService, type TestService } from '../support/start-service.ts';

// COLOR_0 multiplies the base colour of every material (glTF 2.0 §3.9.2). A delivery removes it from parts that take
// finishes, and a picture must show the same.

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await service.call('PUT', '/api/finishes/WHITE', { name: 'White', family: 'paint', colour: { hex: '#e0e0e0' } });
  await service.call('POST', '/api/products', { code: 'TINTED', name: 'Tinted', mount: 'ceiling' });
  await service.call('PUT', '/api/products/TINTED/model', await makeRedSheet(), {
    'content-type': 'model/gltf-binary',
  });
});
afterAll(() => service.close());

it('vertex colours tint the part’s own material, but not a finish', async () => {
  const path = '/api/products/TINTED/picture.png?view=front&size=64&ground=white';
  const [red, green, blue] = await readMiddle((await service.call('GET', path)).body);
  expect(red!).toBeGreaterThan(Math.max(green!, blue!) + 60);
  const worn = await readMiddle((await service.call('GET', `${path}&choice=sheet:WHITE`)).body);
  expect(Math.max(...worn) - Math.min(...worn)).toBeLessThanOrEqual(3);
  expect(Math.min(...worn)).toBeGreaterThan(150);
});

async function readMiddle(png: Uint8Array): Promise<number[]> {
  const { data } = await sharp(png)
    .removeAlpha()
    .extract({ left: 28, top: 28, width: 8, height: 8 })
    .raw()
    .toBuffer({ resolveWithObject: true });
  return [0, 1, 2].map(
    (channel) => data.filter((_, i) => i % 3 === channel).reduce((sum, value) => sum + value, 0) / 64,
  );
}

function makeRedSheet(): Promise<Uint8Array> {
  const document = new Document();
  const buffer = document.createBuffer();
  const vectors = (array: number[]) =>
    document.createAccessor().setType('VEC3').setArray(new Float32Array(array)).setBuffer(buffer);
  const primitive = document
    .createPrimitive()
    .setAttribute('POSITION', vectors([0, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0]))
    .setAttribute('NORMAL', vectors([0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1]))
    .setAttribute('COLOR_0', vectors([1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0]))
    .setIndices(
      document
        .createAccessor()
        .setType('SCALAR')
        .setArray(new Uint16Array([0, 1, 2, 2, 1, 3]))
        .setBuffer(buffer),
    )
    .setMaterial(document.createMaterial('sheet').setMetallicFactor(0));
  document
    .createScene()
    .addChild(document.createNode('sheet').setMesh(document.createMesh('sheet').addPrimitive(primitive)));
  return new NodeIO().writeBinary(document);
}
