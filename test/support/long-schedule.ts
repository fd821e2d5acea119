import { expect } from 'vitest';
import { addPart, createDocument } from './build-model.ts';
import { createIo } from './gltf-io.ts';
import { addProduct, FINISHES, putLineOfFinishes } from './job.ts';
import type { TestService } from './start-service.ts';

export const LONG = 'LONG';

/** A product of that many slots and rows, each slot in any of five finishes. */
export async function addLongSchedule(service: TestService, slotCount: number, rowCount: number): Promise<string[]> {
  await putLineOfFinishes(service);
  const document = createDocument();
  for (let at = 0; at < slotCount; at++) {
    const name = `Part ${String(at + 1).padStart(2, '0')}`;
    addPart(document, { name, material: document.createMaterial(name), size: 0.1 + at / 100 });
  }
  const slots = await addProduct(service, LONG, await (await createIo()).writeBinary(document));
  expect(slots).toHaveLength(slotCount);
  const codes = Object.keys(FINISHES);
  const variants = Array.from({ length: rowCount }, (_, row) => ({
    code: `L-${String(row + 1).padStart(5, '0')}`,
    name: `Variant ${String(row + 1).padStart(5, '0')}`,
    choices: Object.fromEntries(slots.map((slot, at) => [slot, codes[(row + at * (row % 3)) % codes.length]!])),
  }));
  const answer = await service.call('PUT', `/api/products/${LONG}/schedule`, { default: 'L-00001', variants });
  expect(answer.status).toBe(200);
  return slots;
}
