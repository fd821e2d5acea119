import { request } from 'node:http';
import { connect } from 'node:net';
import { afterAll, afterEach, beforeAll, expect, it, vi } from 'vitest';
import { triangleGlb } from '../support/bad-models.ts';
import { addProduct, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { type Answer, startService, type TestService } from '../support/start-service.ts';
import { listTemporary, readStoredState } from '../support/stored-state.ts';
import { FILES, MIB, MODEL, MODELS, row, SCHEDULE, SCHEDULES, schedule, TRADE } from './bad-calls.ts';

// Bad input gets a clear problem answer with a code, and nothing is lost or half stored. Statuses and forms are those
// of the API's contract; the fields of the body are those of RFC 9457 §3.1.

const triangle = triangleGlb();
let service: TestService;
let slot = '';
let before: unknown;

beforeAll(async () => {
  service = await startService({ DYEWORKS_BODY_LIMIT_MIB: '1' });
  await putLineOfFinishes(service);
  const slots = await addProduct(service, 'CHAIR', readRegistryModel('meta-quest-touch-plus/left.glb'));
  slot = slots[0]!;
  await service.call('PUT', '/api/products/CHAIR/schedule', schedule(row('A', { [slot]: 'OAK-1' })));
  expect((await service.call('POST', '/api/products/CHAIR/deliveries', {})).status).toBe(201);
  expect((await service.call('POST', '/api/products', { code: 'EMPTY', name: 'No model yet' })).status).toBe(201);
  before = await readStoredState(service);
});
afterAll(() => service.close());

afterEach(async () => {
  expect(await readStoredState(service)).toEqual(before);
  expect(await listTemporary(service)).toEqual([]);
});

function expectProblem(answer: Answer, status: number, code: string): void {
  expect({ status: answer.status, code: answer.body.code, detail: answer.body.detail }).toEqual({
    status,
    code,
    detail: expect.stringMatching(/.{15}/),
  });
  expect(answer.headers.get('content-type')).toMatch(/^application\/problem\+json/);
  expect(answer.headers.get('x-content-type-options')).toBe('nosniff');
  expect(answer.body).toMatchObject({ status, title: expect.any(String), type: expect.any(String) });
  expect(JSON.stringify(answer.body)).not.toMatch(/node_modules|\.ts:\d|at Object\./);
}

it.each([...MODELS, ...TRADE, ...FILES])('%s', async (_, method, path, body, headers, status, code) => {
  expectProblem(await service.call(method, path, body, headers), status, code);
});

it.each(SCHEDULES)('a schedule with %s', async (_, body, headers, status, code) => {
  expectProblem(await service.call('PUT', SCHEDULE, body(slot), headers), status, code);
});

it('an expansion over its limit gives the number of variants it would make', async () => {
  const { body } = await service.call('POST', `${SCHEDULE}/expand`, { limit: 2 });
  expect(body).toMatchObject({ expected: 2, received: 5 });
});

it('a body over the limit without a stated length; the connection then still works or is closed', async () => {
  const answers = await talk([
    `PUT ${MODEL} HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: model/gltf-binary\r\ntransfer-encoding: chunked\r\n\r\n`,
    ...Array.from({ length: 20 }, () => `186a0\r\n${'x'.repeat(100_000)}\r\n`),
    '0\r\n\r\n',
    'GET /health HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n',
  ]);
  expect(answers).toMatch(/^HTTP\/1\.1 413 /);
  expect(answers).toContain('"code":"body-too-large"');
  // RFC 9112 §9.3 and §9.6: a later request on a kept connection gets an answer, or the server announced that it closes
  const said = /\r\nconnection: close\r\n/i.test(answers.slice(0, answers.indexOf('\r\n\r\n') + 2));
  expect(said || answers.includes('HTTP/1.1 200 ')).toBe(true);
});

it('a body just under the limit is read, and refused for its content', async () => {
  expectProblem(await service.call('PUT', MODEL, new Uint8Array(MIB - 1), GLB), 422, 'model-unreadable');
});

it('an upload that breaks off', async () => {
  await new Promise<void>((resolve) => {
    const call = request(`${service.url}${MODEL}`, { method: 'PUT', headers: { ...GLB, 'content-length': '500000' } });
    call.on('error', () => resolve());
    call.on('close', () => resolve());
    call.write(triangle, () => call.destroy());
  });
  await vi.waitFor(async () => expect(await listTemporary(service)).toEqual([]), { timeout: 20_000, interval: 20 });
});

it('a number in a query that is too large to be one', async () => {
  for (const query of ['limit=1e999', 'after=1e999', 'limit=-1e999']) {
    const answer = await service.call('GET', `/api/jobs?${query}`);
    expect([answer.status, answer.body.code], query).toEqual([400, 'invalid-field']);
  }
});

it('an address with broken per cent signs', async () => {
  const answer = await service.call('GET', '/api/finishes/%E0%A4%A');
  expect(answer.status).toBe(400);
  expect(answer.headers.get('content-type')).toMatch(/^application\/problem\+json/);
});

/** Sends parts over one connection, and collects answers until the connection closes or stays silent. */
function talk(parts: readonly string[]): Promise<string> {
  return new Promise((resolve) => {
    let heard = '';
    const socket = connect(Number(new URL(service.url).port), '127.0.0.1');
    // a limit against hanging, not a measurement
    socket.setTimeout(8000, () => socket.destroy());
    socket.setEncoding('utf8');
    socket.on('data', (data) => {
      heard += data;
    });
    socket.on('error', () => undefined);
    socket.on('close', () => resolve(heard));
    for (const part of parts) socket.write(part);
  });
}
