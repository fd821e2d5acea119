import { Document, NodeIO } from '@gltf-transform/core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { createBox } from '../renderer/models.ts';
import { measureFileOutline } from '../support/measure-outline.ts';
import { startService, type TestService } from '../support/start-service.ts';

// A cube of 1 m has the size in its picture that the stated lens and distance give. The pinhole model alone gives an
// extent times the focal length over the distance, on a frame with a short side of 24 mm (36 × 24 mm, ISO 1007).

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await service.call('POST', '/api/products', { code: 'CUBE', name: 'Cube', mount: 'ceiling' });
  const put = await service.call('PUT', '/api/products/CUBE/model', await makeCube(), {
    'content-type': 'model/gltf-binary',
  });
  expect(put.status, JSON.stringify(put.body)).toBe(201);
}, 120_000);
afterAll(() => service?.close());

it.each([
  ['front', 400, 400],
  ['front', 600, 400],
  ['side', 300, 500],
  ['top', 400, 400],
  ['three-quarter', 512, 384],
  ['back', 1000, 1000],
] as const)('a cube of a metre from %s at %i × %i px', async (view, widthPx, heightPx) => {
  const query = `view=${view}&width=${widthPx}&height=${heightPx}`;
  const { body: stated } = await service.call('GET', `/api/products/CUBE/picture.json?${query}`);
  expect(stated.camera, JSON.stringify(stated)).toMatchObject({ lensMm: 85 });
  const picture = await service.call('GET', `/api/products/CUBE/picture.png?${query}`);
  expect(picture.status, JSON.stringify(picture.body.detail)).toBe(200);
  const seen = await measureFileOutline(picture.body);
  const expected = project(stated.camera, Math.min(widthPx, heightPx));
  expect(Math.abs(seen.width - expected.width), `${seen.width} px wide, ${expected.width} by the lens`).toBeLessThan(1);
  expect(Math.abs(seen.height - expected.height), `${seen.height} px high, ${expected.height}`).toBeLessThan(1);
});

interface Camera {
  readonly lensMm: number;
  /** To the middle between the nearest and the farthest corner. */
  readonly distanceM: number;
  readonly yawDegrees: number;
  readonly elevationDegrees: number;
}

/** Extent in pixels of the corners of a cube of 1 m, after moving the camera up or down until they are centred. */
function project({ lensMm, distanceM, yawDegrees, elevationDegrees }: Camera, shortPx: number) {
  const [yaw, elevation] = [yawDegrees, elevationDegrees].map((degrees) => (degrees * Math.PI) / 180) as [
    number,
    number,
  ];
  const corners = [-0.5, 0.5].flatMap((x) =>
    [-0.5, 0.5].flatMap((y) =>
      [-0.5, 0.5].map((z) => {
        const towards = x * Math.sin(yaw) + z * Math.cos(yaw);
        return {
          across: x * Math.cos(yaw) - z * Math.sin(yaw),
          up: y * Math.cos(elevation) - towards * Math.sin(elevation),
          near: y * Math.sin(elevation) + towards * Math.cos(elevation),
        };
      }),
    ),
  );
  // About its middle, half way between the nearest and the farthest corner.
  const scale = (lensMm / 24) * shortPx;
  const extent = (along: 'across' | 'up') => {
    let [low, high] = [-1, 1];
    const edges = () => {
      const moved = (low + high) / 2;
      const places = corners.map((corner) => ((corner[along] - moved) / (distanceM - corner.near)) * scale);
      return [Math.min(...places), Math.max(...places)] as const;
    };
    for (let step = 0; step < 40; step++) {
      const [from, to] = edges();
      if (from + to > 0) low = (low + high) / 2;
      else high = (low + high) / 2;
    }
    const [from, to] = edges();
    return to - from;
  };
  return { width: extent('across'), height: extent('up') };
}

function makeCube(): Promise<Uint8Array> {
  const document = new Document();
  const grey = document.createMaterial('grey').setBaseColorFactor([0.2, 0.2, 0.2, 1]).setMetallicFactor(0);
  const mesh = document.createMesh('cube').addPrimitive(createBox(document, grey, [1, 1, 1]));
  document.createScene().addChild(document.createNode('cube').setMesh(mesh));
  return new NodeIO().writeBinary(document);
}
