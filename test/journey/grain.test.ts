import { NullEngine } from '@babylonjs/core/Engines/nullEngine.js';
import { LoadAssetContainerAsync } from '@babylonjs/core/Loading/sceneLoader.js';
import type { PBRMaterial } from '@babylonjs/core/Materials/PBR/pbrMaterial.js';
import { Vector3 } from '@babylonjs/core/Maths/math.vector.js';
import { Scene } from '@babylonjs/core/scene.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_texture_transform.js';
import '@babylonjs/loaders/glTF/2.0/glTFLoader.js';
import { Document, NodeIO } from '@gltf-transform/core';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startService, type TestService } from '../support/start-service.ts';

// KHR_texture_transform turns and scales a map (KhronosGroup/glTF 77b44be,
// extensions/2.0/Khronos/KHR_texture_transform/README.md). Its GLSL snippet turns the other way from its own text
// (KhronosGroup/glTF #1563), so this test proves the direction. A picture by three.js in the studio and the texture
// matrix of Babylon.js must put the same corner of the map on the same corner of the part, and the map must be turned
// counter-clockwise in the view.

/** Corners of the map: upper left, upper right, lower left, lower right. */
const CORNERS = { UL: '#d02020', UR: '#20b020', LL: '#2030d0', LR: '#e0e0e0' } as const;
type Corner = keyof typeof CORNERS;

/**
 * The visible corners of the map on the part's four corners, when the map is upright, and turned by quarters
 * counter-clockwise.
 */
const SEEN: Readonly<Record<number, Readonly<Record<Corner, Corner>>>> = {
  0: { UL: 'UL', UR: 'UR', LL: 'LL', LR: 'LR' },
  90: { UL: 'UR', UR: 'LR', LL: 'UL', LR: 'LL' },
  180: { UL: 'LR', UR: 'LL', LL: 'UR', LR: 'UL' },
  270: { UL: 'LL', UR: 'UL', LL: 'LR', LR: 'UR' },
};

let service: TestService;
beforeAll(async () => {
  service = await startService();
  const map = await service.call('POST', '/api/files', await makeCorners(), { 'content-type': 'image/png' });
  expect(map.status).toBe(201);
  const finish = {
    name: 'Corners',
    family: 'paper',
    colour: { hex: '#ffffff' },
    maps: { colour: map.body.sha256 },
    tile: { widthMm: 1000, heightMm: 1000 },
  };
  expect((await service.call('PUT', '/api/finishes/CORNERS', finish)).status).toBe(201);
  await service.call('POST', '/api/products', { code: 'SHEET', name: 'Sheet', mount: 'ceiling' });
  const model = await service.call('PUT', '/api/products/SHEET/model', await makeSheet(), {
    'content-type': 'model/gltf-binary',
  });
  expect(model.status).toBe(201);
});
afterAll(() => service.close());

it.each([0, 90, 180, 270])(
  'a grain of %i degrees runs counter-clockwise in the view, in two engines',
  async (grainDegrees) => {
    await service.call('PATCH', '/api/products/SHEET/slots/sheet', { grainDegrees });
    const picture = await service.call(
      'GET',
      '/api/products/SHEET/picture.png?choice=sheet:CORNERS&view=front&size=256&ground=white',
    );
    expect(picture.status).toBe(200);
    expect(await readCorners(picture.body), 'three.js').toEqual(SEEN[grainDegrees]);

    const schedule = { default: 'A', variants: [{ code: 'A', name: 'Corners', choices: { sheet: 'CORNERS' } }] };
    expect((await service.call('PUT', '/api/products/SHEET/schedule', schedule)).status).toBe(200);
    const { body } = await service.call('POST', '/api/products/SHEET/deliveries', {});
    const file = await service.call('GET', body.model);
    expect(await readBabylon(file.body), 'Babylon.js').toEqual(SEEN[grainDegrees]);
  },
);

it('a repeat of unequal sides keeps its size when it turns by a quarter, in two engines', async () => {
  // One metre across the grain, two along it. Turned by a quarter, the sheet shows all of its width from bottom to top,
  // and half of its length from side to side.
  const { maps } = (await service.call('GET', '/api/finishes/CORNERS')).body;
  const tile = { widthMm: 1000, heightMm: 2000, grainDegrees: 0 };
  const finish = { name: 'Long', family: 'paper', colour: { hex: '#ffffff' }, maps, tile };
  expect((await service.call('PUT', '/api/finishes/LONG', finish)).status).toBe(201);
  await service.call('PATCH', '/api/products/SHEET/slots/sheet', { grainDegrees: 90 });
  const picture = await service.call(
    'GET',
    '/api/products/SHEET/picture.png?choice=sheet:LONG&view=front&size=256&ground=white',
  );
  const seen = await readCorners(picture.body);
  expect(seen.UL).toBe(seen.UR);
  expect(seen.LL).toBe(seen.LR);
  expect(seen.UL).not.toBe(seen.LL);
  const schedule = { default: 'A', variants: [{ code: 'A', name: 'Long', choices: { sheet: 'LONG' } }] };
  await service.call('PUT', '/api/products/SHEET/schedule', schedule);
  const { body } = await service.call('POST', '/api/products/SHEET/deliveries', {});
  expect(await readBabylon((await service.call('GET', body.model)).body)).toEqual(seen);
});

async function makeCorners(): Promise<Buffer> {
  const half = 32;
  const tile = (background: string) =>
    sharp({ create: { width: half, height: half, channels: 3, background } })
      .png()
      .toBuffer();
  const [ul, ur, ll, lr] = await Promise.all([CORNERS.UL, CORNERS.UR, CORNERS.LL, CORNERS.LR].map(tile));
  return sharp({ create: { width: half * 2, height: half * 2, channels: 3, background: '#000000' } })
    .composite([
      { input: ul!, left: 0, top: 0 },
      { input: ur!, left: half, top: 0 },
      { input: ll!, left: 0, top: half },
      { input: lr!, left: half, top: half },
    ])
    .png()
    .toBuffer();
}

/** A square metre facing +Z, one UV unit wide: u to the right, v down, as in glTF. */
function makeSheet(): Promise<Uint8Array> {
  const document = new Document();
  const buffer = document.createBuffer();
  const accessor = (type: 'VEC2' | 'VEC3' | 'SCALAR', array: Float32Array<ArrayBuffer> | Uint16Array<ArrayBuffer>) =>
    document.createAccessor().setType(type).setArray(array).setBuffer(buffer);
  const primitive = document
    .createPrimitive()
    .setAttribute('POSITION', accessor('VEC3', new Float32Array([0, 1, 0, 1, 1, 0, 0, 0, 0, 1, 0, 0])))
    .setAttribute('NORMAL', accessor('VEC3', new Float32Array([0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1])))
    .setAttribute('TEXCOORD_0', accessor('VEC2', new Float32Array([0, 0, 1, 0, 0, 1, 1, 1])))
    .setIndices(accessor('SCALAR', new Uint16Array([0, 2, 1, 1, 2, 3])))
    .setMaterial(document.createMaterial('sheet').setDoubleSided(true));
  document
    .createScene()
    .addChild(document.createNode('sheet').setMesh(document.createMesh('sheet').addPrimitive(primitive)));
  return new NodeIO().writeBinary(document);
}

/** The corner of the map on each corner of the pictured sheet. */
async function readCorners(png: Uint8Array): Promise<Record<Corner, Corner>> {
  const { data, info } = await sharp(png).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const at = (x: number, y: number) => {
    const i = (Math.round(y * info.height) * info.width + Math.round(x * info.width)) * 3;
    return nearest([data[i]!, data[i + 1]!, data[i + 2]!]);
  };
  // the sheet fills most of the frame; a quarter from its centre is well inside each corner
  return { UL: at(0.35, 0.35), UR: at(0.65, 0.35), LL: at(0.35, 0.65), LR: at(0.65, 0.65) };
}

function nearest(rgb: readonly number[]): Corner {
  const distance = (hex: string) =>
    [1, 3, 5].reduce((sum, at, i) => sum + (Number.parseInt(hex.slice(at, at + 2), 16) - rgb[i]!) ** 2, 0);
  return (Object.keys(CORNERS) as Corner[]).reduce((best, corner) =>
    distance(CORNERS[corner]) < distance(CORNERS[best]) ? corner : best,
  );
}

/** The same from Babylon's texture matrix: the place in the map that the centre of each quarter of the sheet reads. */
async function readBabylon(glb: Uint8Array): Promise<Record<Corner, Corner>> {
  const engine = new NullEngine();
  const scene = new Scene(engine);
  const container = await LoadAssetContainerAsync(glb, scene, { pluginExtension: '.glb' });
  const mesh = container.meshes.find((candidate) => candidate.getTotalVertices() > 0)!;
  const matrix = (mesh.material as PBRMaterial).albedoTexture!.getTextureMatrix();
  const read = (u: number, v: number): Corner => {
    const uv = Vector3.TransformCoordinates(new Vector3(u, v, 1), matrix);
    const wrap = (value: number) => ((value % 1) + 1) % 1;
    return `${wrap(uv.y) < 0.5 ? 'U' : 'L'}${wrap(uv.x) < 0.5 ? 'L' : 'R'}` as Corner;
  };
  const corners = { UL: read(0.25, 0.25), UR: read(0.75, 0.25), LL: read(0.25, 0.75), LR: read(0.75, 0.75) };
  scene.dispose();
  engine.dispose();
  return corners;
}
