import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, expect, it } from 'vitest';
import { ROOT } from '../../server/root.ts';
import { NO_SANDBOX } from '../renderer/built-studio.ts';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { rawRequest } from '../support/raw-request.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { makeClient, startService, type TestService } from '../support/start-service.ts';

// A service as its supervisor sees it: alive, ready, and closed when told to. Model: @webxr-input-profiles/assets 1.0.20 (MIT).

const closers: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const close of closers.splice(0).reverse()) await close();
});

const TOKEN = 'a-long-word-for-tests';

it('health and readiness need no token, and tell strangers nothing else', async () => {
  const service = await startService({ DYEWORKS_TOKEN: TOKEN });
  closers.push(() => service.close());
  for (const [path, body] of [
    ['/health', { status: 'ok' }],
    ['/ready', { status: 'ready' }],
  ] as const) {
    const answer = await service.call('GET', path);
    expect([answer.status, answer.body]).toEqual([200, body]);
  }
  const known = await service.call('GET', '/health', undefined, { authorization: `Bearer ${TOKEN}` });
  expect(known.body).toMatchObject({ status: 'ok', version: expect.any(String) });
  const foreign = await rawRequest(service.url, '/ready', { headers: { host: 'evil.example' } });
  expect(foreign.status).toBe(403);
});

it('a data folder that takes no files is not ready', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-test-'));
  closers.push(() => rm(folder, { recursive: true, force: true }));
  const service = await startService({}, folder);
  closers.push(() => service.close());
  // a superuser writes to folders without the permission, but not to those that are gone
  if (process.getuid?.() === 0) await rm(folder, { recursive: true });
  else {
    await chmod(folder, 0o500);
    closers.push(() => chmod(folder, 0o700));
  }
  const { status, body, headers } = await service.call('GET', '/ready');
  expect([status, body.code, body.detail]).toEqual([503, 'not-ready', expect.stringContaining('data folder')]);
  expect(headers.get('retry-after')).toMatch(/^\d+$/);
  expect((await service.call('GET', '/health')).status).toBe(200);
});

it('a call on an open connection learns that the service closes', async () => {
  const service = await startService();
  const socket = connect(Number(new URL(service.url).port), '127.0.0.1').setEncoding('utf8');
  closers.push(async () => socket.destroy());
  socket.write('GET /ready HTTP/1.1\r\nhost: 127.0.0.1\r\n');
  // until this is answered, the half request has arrived too
  await service.call('GET', '/health');
  const closed = service.close();
  socket.write('\r\n');
  const [answer] = await once(socket, 'data');
  expect(answer).toMatch(/^HTTP\/1\.1 503 /);
  expect(answer).toContain('"code":"not-ready"');
  await closed;
});

/** The service in a process of its own. */
async function spawnService(): Promise<{ child: ChildProcess; client: TestService; readErrors(): string }> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-test-'));
  closers.push(() => rm(folder, { recursive: true, force: true }));
  const child = spawn(process.execPath, [join(ROOT, 'server', 'dyeworks.mjs'), 'serve'], {
    stdio: ['ignore', 'pipe', 'pipe'],
    env: {
      ...process.env,
      DYEWORKS_PORT: '0',
      DYEWORKS_DEMO: 'off',
      DYEWORKS_DATA: folder,
      DYEWORKS_SANDBOX: NO_SANDBOX ? 'off' : 'auto',
    },
  });
  closers.push(async () => {
    if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL');
  });
  let errors = '';
  child.stderr!.on('data', (data) => {
    errors += data;
  });
  const [line] = await once(child.stdout!, 'data');
  const url = /http:\S+/.exec(String(line))![0];
  const client = { ...makeClient(url), dataFolder: folder, filled: Promise.resolve(), close: async () => undefined };
  return { child, client, readErrors: () => errors };
}

it('SIGTERM ends the process with 0 while a job is followed, a picture is made and an upload is under way', async () => {
  const { child, client, readErrors } = await spawnService();
  await putLineOfFinishes(client);
  const slots = await addProduct(client, 'GO', readRegistryModel('oculus-go/none.glb'));
  const variants = ['OAK-1', 'ASH-2', 'TARN.3', 'COAL_4', 'brass-5'].map((finish) => ({
    code: finish,
    name: finish,
    choices: Object.fromEntries(slots.map((slot) => [slot, finish])),
  }));
  await client.call('PUT', '/api/products/GO/schedule', { default: 'OAK-1', variants });
  const job = await client.call('POST', '/api/products/GO/pictures', { sizes: [1024, 512], views: ['front', 'side'] });
  expect(job.status).toBe(202);

  const stream = await fetch(`${client.url}/api/jobs/${job.body.id}/events`);
  const reader = stream.body!.pipeThrough(new TextDecoderStream()).getReader();
  let heard = '';
  while (!/"done":[1-9]/.test(heard)) heard += (await reader.read()).value;
  const picture = fetch(`${client.url}/api/products/GO/pictures/OAK-1.png?size=2048&direct=1`).then(
    ({ status }) => status,
    () => 'cut off',
  );
  const upload = connect(Number(new URL(client.url).port), '127.0.0.1').on('error', () => undefined);
  closers.push(async () => upload.destroy());
  upload.write('PUT /api/products/GO/model HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: model/gltf-binary\r\n');
  upload.write('content-length: 5000000\r\n\r\nglTF');

  const exit = once(child, 'exit');
  child.kill('SIGTERM');
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    heard += value;
  }
  // the stream ends in order, with an id to continue from
  expect(heard).toMatch(/\nid: \d+\nevent: closing\ndata: \{.*\}\n\n$/);
  expect([200, 503, 'cut off']).toContain(await picture);
  expect(await exit).toEqual([0, null]);
  // by itself, not by the last resort
  expect(readErrors()).not.toContain('did not close in time');
});

it('a reader that connects again continues after its last event', async () => {
  const service = await startService();
  closers.push(() => service.close());
  await putLineOfFinishes(service);
  const [slot] = await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'));
  const choices = (finish: string) => ({ [slot!]: finish });
  const variants = ['OAK-1', 'ASH-2', 'TARN.3'].map((code) => ({ code, name: code, choices: choices(code) }));
  await service.call('PUT', '/api/products/GO/schedule', { default: 'OAK-1', variants });
  const { body: job } = await service.call('POST', '/api/products/GO/pictures', { sizes: [64] });
  const read = async (headers: Record<string, string>) =>
    (await fetch(`${service.url}/api/jobs/${job.id}/events`, { headers })).text();
  const whole = await read({ 'last-event-id': '0' });
  expect(whole).toMatch(/^id: 3\nevent: end$/m);
  const rest = await read({ 'last-event-id': '2' });
  const arrived = [...rest.matchAll(/^data: (.*)$/gm)].flatMap(([, data]) => JSON.parse(data!).arrived);
  expect(arrived.map(({ variant }: { variant: string }) => variant)).toEqual(['TARN.3']);
});
