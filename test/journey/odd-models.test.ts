import { Document, NodeIO } from '@gltf-transform/core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Real-world models, with names and small faults that must not prevent anything.

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
});
afterAll(() => service.close());

const GLB = { 'content-type': 'model/gltf-binary' };

/** One triangle per material; `change` may alter the JSON before it is packed. */
async function makeModel(
  names: readonly string[],
  change: (json: Record<string, unknown>) => void = () => {},
): Promise<Uint8Array> {
  const document = new Document();
  const buffer = document.createBuffer();
  const scene = document.createScene();
  for (const [i, name] of names.entries()) {
    const position = document.createAccessor().setType('VEC3').setBuffer(buffer);
    position.setArray(new Float32Array([i, 0, 0, i + 0.5, 0, 0, i, 0.5, 0]));
    const primitive = document
      .createPrimitive()
      .setAttribute('POSITION', position)
      .setMaterial(document.createMaterial(name));
    scene.addChild(document.createNode(`node ${i}`).setMesh(document.createMesh(name).addPrimitive(primitive)));
  }
  const glb = Buffer.from(await new NodeIO().writeBinary(document));
  const length = glb.readUInt32LE(12);
  const json = JSON.parse(glb.toString('utf8', 20, 20 + length)) as Record<string, unknown>;
  change(json);
  const text = Buffer.from(JSON.stringify(json));
  const padded = Buffer.concat([text, Buffer.alloc((4 - (text.length % 4)) % 4, 0x20)]);
  const out = Buffer.concat([glb.subarray(0, 20), padded, glb.subarray(20 + length)]);
  out.writeUInt32LE(padded.length, 12);
  out.writeUInt32LE(out.length, 8);
  return out;
}

it('materials named like words of JavaScript are slots like any other', async () => {
  const names = ['constructor', '__proto__', 'toString', 'hasOwnProperty'];
  await service.call('POST', '/api/products', { code: 'WORDS', name: 'Words' });
  const { status, body } = await service.call('PUT', '/api/products/WORDS/model', await makeModel(names), GLB);
  expect(status).toBe(201);
  const slots = body.slots.map(({ slot }: { slot: string }) => slot) as string[];
  expect(new Set(slots).size).toBe(4);
  const rows = [slots.slice(0, 2), []].map((chosen, row) => ({
    code: `R${row}`,
    name: `Row ${row}`,
    choices: Object.fromEntries(chosen.map((slot) => [slot, 'OAK-1'])),
  }));
  const put = await service.call('PUT', '/api/products/WORDS/schedule', { default: 'R0', variants: rows });
  expect(put.status).toBe(200);
  expect(put.body.variants).toEqual(rows);
  for (const path of [
    '/api/products',
    '/api/products/WORDS/readiness',
    '/api/products/WORDS/schedule',
    '/api/products/WORDS/slots',
  ]) {
    expect((await service.call('GET', path)).status, path).toBe(200);
  }
  expect((await service.call('POST', '/api/products/WORDS/deliveries', {})).status).toBe(201);
});

it('a model with a minor error is delivered with it, and a finding says so', async () => {
  // a scene that lists a node which has a parent: NODE… of the Khronos validator, the most common error in files
  const model = await makeModel(['part', 'other'], (json) => {
    const { nodes, scenes } = json as { nodes: { children?: number[] }[]; scenes: { nodes: number[] }[] };
    nodes[0]!.children = [1];
    scenes[0]!.nodes = [0, 1];
  });
  await service.call('POST', '/api/products', { code: 'ERROR', name: 'Error' });
  const received = await service.call('PUT', '/api/products/ERROR/model', model, GLB);
  expect(received.status).toBe(201);
  expect(received.body.survey.validator.errors).toBe(1);
  expect(received.body.findings.map(({ code }: { code: string }) => code)).toContain('validator');
  await service.call('POST', '/api/products/ERROR/schedule/expand', { slots: ['part'] });
  const delivered = await service.call('POST', '/api/products/ERROR/deliveries', {});
  expect(delivered.status).toBe(201);
  const manifest = (await service.call('GET', delivered.body.manifest)).body;
  const validator = manifest.checks.find(({ check }: { check: string }) => check === 'validator');
  expect(validator.passed).toBe(false);
  expect(Object.values(validator.errors)).toEqual([1]);
});

it('a slot that is fixed after the schedule named it keeps its cells, and the schedule stays editable', async () => {
  await service.call('POST', '/api/products', { code: 'FIXED', name: 'Fixed' });
  await service.call('PUT', '/api/products/FIXED/model', await makeModel(['seat', 'legs']), GLB);
  const expanded = await service.call('POST', '/api/products/FIXED/schedule/expand', {});
  expect(expanded.body.total).toBe(25);
  await service.call('PATCH', '/api/products/FIXED/slots/legs', { fixed: true });
  const { findings, ...standing } = (await service.call('GET', '/api/products/FIXED/schedule')).body;
  expect(findings.map(({ code }: { code: string }) => code)).toContain('slot-is-fixed');
  expect((await service.call('PUT', '/api/products/FIXED/schedule', standing)).status).toBe(200);
  expect((await service.call('POST', '/api/products/FIXED/schedule/expand', {})).status).toBe(200);
  expect((await service.call('POST', '/api/products/FIXED/deliveries', {})).status).toBe(201);
});
