import { expect } from 'vitest';
import { readRegistryModel } from './registry-models.ts';
import type { TestService } from './start-service.ts';

export const GLB = { 'content-type': 'model/gltf-binary' };

/** Finishes of an invented maker, in three families and two grades. */
export const FINISHES: Readonly<Record<string, { name: string; family: string; hex: string; grade: string }>> = {
  'OAK-1': { name: 'Oiled oak', family: 'wood', hex: '#b08a5b', grade: 'B' },
  'ASH-2': { name: 'Pale ash', family: 'wood', hex: '#d8c7a8', grade: 'B' },
  'TARN.3': { name: 'Tarn blue', family: 'powder-coat', hex: '#2f5d73', grade: 'A' },
  COAL_4: { name: 'Coal black', family: 'powder-coat', hex: '#1e1e1e', grade: 'A' },
  'brass-5': { name: 'Brushed brass', family: 'bare-metal', hex: '#c8a452', grade: 'B' },
};

/** Stores the finishes and a line of one position whose range contains them. */
export async function putLineOfFinishes(service: TestService): Promise<void> {
  for (const [code, { name, family, hex }] of Object.entries(FINISHES)) {
    const answer = await service.call('PUT', `/api/finishes/${code}`, { name, family, colour: { hex } });
    expect(answer.status).toBe(201);
  }
  const range = Object.entries(FINISHES).map(([finish, { grade }]) => ({ finish, grade }));
  const line = {
    name: 'Fenwater',
    positions: [{ position: 'shell', label: 'Shell', options: { families: ['powder-coat'] } }],
    range,
  };
  expect((await service.call('PUT', '/api/lines/FEN', line)).status).toBe(201);
}

/** Adds a product and its model, and returns its slots’ keys. */
export async function addProduct(service: TestService, code: string, model: Uint8Array): Promise<string[]> {
  const product = await service.call('POST', '/api/products', { code, name: `Product ${code}`, line: 'FEN' });
  expect(product.status).toBe(201);
  const received = await service.call('PUT', `/api/products/${code}/model`, model, GLB);
  expect(received.status).toBe(201);
  return received.body.slots.map(({ slot }: { slot: string }) => slot);
}

/**
 * Adds the product TOUCH, with the registry's model of two materials, on two positions of the line: the shell in two
 * finishes, the trim in all five. Returns the keys of its two slots.
 */
export async function addTwoPositions(service: TestService): Promise<readonly [shell: string, trim: string]> {
  const [shell, trim] = (await addProduct(service, 'TOUCH', readRegistryModel('oculus-touch/left.glb'))) as [
    string,
    string,
  ];
  const { body: line } = await service.call('GET', '/api/lines/FEN');
  const positions = [...line.positions, { position: 'trim', label: 'Trim' }];
  expect((await service.call('PUT', '/api/lines/FEN', { name: line.name, positions })).status).toBe(200);
  for (const [slot, position] of [
    [shell, 'shell'],
    [trim, 'trim'],
  ]) {
    expect((await service.call('PATCH', `/api/products/TOUCH/slots/${slot}`, { position })).status).toBe(200);
  }
  return [shell, trim];
}
