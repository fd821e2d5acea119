import { once } from 'node:events';
import { connect, type Socket } from 'node:net';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { triangleGlb } from '../support/bad-models.ts';
import { GLB, putLineOfFinishes } from '../support/job.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { listTemporary } from '../support/stored-state.ts';

// Bodies that are too large, too deep or too slow. The time limit is set to one second.

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_IDLE_S: '1' });
  await putLineOfFinishes(service);
  await service.call('POST', '/api/products', { code: 'CHAIR', name: 'Chair' });
});
afterAll(() => service.close());

const JSON_TYPE = { 'content-type': 'application/json' };
const KIB = 1024;

describe('a body of JSON', () => {
  it.each([
    ['POST', '/api/products', 256],
    ['PUT', '/api/finishes/NEW', 256],
    ['PATCH', '/api/products/CHAIR', 256],
    ['PUT', '/api/lines/FEN/rules', 2048],
    ['PUT', '/api/lines/FEN', 8192],
    ['PUT', '/api/products/CHAIR/schedule', 8192],
  ])('%s %s takes at most %i KiB, and says so', async (method, path, limitKib) => {
    const { status, body } = await service.call(method, path, `"${'x'.repeat(limitKib * KIB)}"`, JSON_TYPE);
    expect([status, body.code, body.expected]).toEqual([413, 'body-too-large', limitKib * KIB]);
    expect(body.detail).toContain(`${limitKib} KiB`);
    const fits = await service.call(method, path, `"${'x'.repeat(limitKib * KIB - 2)}"`, JSON_TYPE);
    expect([fits.status, fits.body.code]).toEqual([400, 'invalid-field']);
  });

  it('of many levels is refused before it is read', async () => {
    for (const text of [
      '['.repeat(4_000_000),
      '{"a":'.repeat(800_000),
      `{"default":${'['.repeat(33)}${']'.repeat(33)}}`,
    ]) {
      const { status, body } = await service.call('PUT', '/api/products/CHAIR/schedule', text, JSON_TYPE);
      expect([status, body.code]).toEqual([400, 'json-too-complex']);
    }
  });

  it('that reaches for a prototype is refused', async () => {
    for (const text of ['{"code":"P","name":"P","__proto__":{}}', '{"code":"P","constructor":{"prototype":{}}}']) {
      const { status, body } = await service.call('POST', '/api/products', text, JSON_TYPE);
      expect([status, body.code]).toEqual([400, 'bad-request']);
    }
  });

  it('without content, and with broken UTF-8, is answered', async () => {
    expect((await service.call('POST', '/api/products', '', JSON_TYPE)).status).toBe(400);
    const broken = await service.call('POST', '/api/products', new Uint8Array([0x7b, 0xff, 0x7d]), JSON_TYPE);
    expect([broken.status, broken.body.code]).toEqual([400, 'bad-request']);
  });
});

/** All that the service sends until it closes the connection. */
async function hearAll(socket: Socket): Promise<string> {
  let heard = '';
  socket.setEncoding('utf8').on('data', (data) => {
    heard += data;
  });
  await once(socket, 'close');
  return heard;
}

const open = () => connect(Number(new URL(service.url).port), '127.0.0.1').on('error', () => undefined);

describe('a request that stops arriving', () => {
  it.each([
    ['a model', 'PUT /api/products/CHAIR/model', 'model/gltf-binary'],
    ['JSON', 'POST /api/products', 'application/json'],
    ['an image', 'POST /api/files', 'image/png'],
  ])('%s: the caller gets 408, and nothing stays', async (_, call, type) => {
    const socket = open();
    socket.write(`${call} HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: ${type}\r\ncontent-length: 9000\r\n\r\n{`);
    const answer = await hearAll(socket);
    expect(answer).toMatch(/^HTTP\/1\.1 408 /);
    expect(answer).toMatch(/\r\nconnection: close\r\n/i);
    expect(answer).toContain('"code":"body-too-slow"');
    await vi.waitFor(async () => expect(await listTemporary(service)).toEqual([]), { timeout: 20_000, interval: 20 });
  });

  it('chunks without an end, and headers without an end, are closed too', async () => {
    const chunked = open();
    chunked.write(
      'PUT /api/products/CHAIR/model HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: model/gltf-binary\r\ntransfer-encoding: chunked\r\n\r\n4\r\nglTF\r\n',
    );
    expect(await hearAll(chunked)).toMatch(/^HTTP\/1\.1 408 /);
    const headers = open();
    headers.write('GET /health HTTP/1.1\r\nhost: 127.0.0.1\r\nx-more: ');
    const answer = await hearAll(headers);
    expect(answer).toMatch(/^HTTP\/1\.1 408 /);
    expect(answer).toContain('"code":"body-too-slow"');
  });

  it('one that is slow, but goes on, is taken', async () => {
    const model = triangleGlb();
    const socket = open();
    const heard = hearAll(socket);
    socket.write(
      `PUT /api/products/CHAIR/model HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\ncontent-type: ${GLB['content-type']}\r\ncontent-length: ${model.length}\r\n\r\n`,
    );
    // longer than the limit in all, and shorter between any two parts
    const parts = 6;
    for (let part = 0; part < parts; part++) {
      await new Promise((resolve) => setTimeout(resolve, 300));
      const cut = (at: number) => Math.floor((model.length * at) / parts);
      socket.write(model.subarray(cut(part), cut(part + 1)));
    }
    expect(await heard).toMatch(/^HTTP\/1\.1 201 /);
  });
});
