import { expect, it } from 'vitest';
import { addPart, createDocument } from '../../support/build-model.ts';
import { createIo } from '../../support/gltf-io.ts';
import { GLB } from '../../support/job.ts';
import { startService } from '../../support/start-service.ts';

/** More finishes than an answer lists in one go. */
const FINISHES = 2500;

it('lists all finishes of each slot without a line, in parts, and counts them in another thread', async () => {
  const service = await startService();
  try {
    const rows = Array.from({ length: FINISHES }, (_, i) => `F${i},Finish ${i},paint,#${String(100000 + i)}`);
    const csv = `code,name,family,hex\n${rows.join('\n')}\n`;
    await service.call('POST', '/api/finishes/import', csv, { 'content-type': 'text/csv' });
    const document = createDocument();
    for (const name of ['seat', 'legs']) addPart(document, { name, material: document.createMaterial(name) });
    const model = await (await createIo()).writeBinary(document);
    await service.call('POST', '/api/products', { code: 'BARE', name: 'Bare' });
    await service.call('PUT', '/api/products/BARE/model', model, GLB);
    const { status, body } = await service.call('GET', '/api/products/BARE/slots');
    expect(status).toBe(200);
    expect(body.slots).toHaveLength(2);
    for (const slot of body.slots) {
      expect(slot.allowed).toHaveLength(FINISHES);
      const one = await service.call('GET', `/api/products/BARE/slots/${slot.slot}`);
      expect(slot).toEqual(one.body);
    }
    const counted = await service.call('GET', '/api/products/BARE/schedule/count');
    expect(counted.body.count).toBe(FINISHES * FINISHES);
    await service.call('PUT', '/api/finishes/MORE', { name: 'More', family: 'paint', colour: { hex: '#808080' } });
    const again = await service.call('GET', '/api/products/BARE/schedule/count');
    expect(again.body.count).toBe((FINISHES + 1) ** 2);
  } finally {
    await service.close();
  }
});
