import { once } from 'node:events';
import { request } from 'node:http';
import type { AddressInfo } from 'node:net';
import Fastify from 'fastify';
import { expect, it } from 'vitest';
import { callerSignal } from '../../../server/http/caller-signal.ts';

it('tells when a caller leaves before the answer, and not when it has the answer', async () => {
  const app = Fastify();
  const signals: AbortSignal[] = [];
  let arrived = () => {};
  app.get('/waits', (_request, reply) => {
    signals.push(callerSignal(reply));
    arrived();
    return new Promise(() => {});
  });
  app.get('/answers', (_request, reply) => {
    signals.push(callerSignal(reply));
    return { ok: true };
  });
  await app.listen({ port: 0 });
  const { port } = app.server.address() as AddressInfo;
  const reached = new Promise<void>((resolve) => {
    arrived = resolve;
  });
  const call = request({ port, path: '/waits' });
  call.on('error', () => {});
  call.end();
  await reached;
  expect(signals[0]!.aborted).toBe(false);
  const gone = once(signals[0]!, 'abort');
  call.destroy();
  await gone;
  await (await fetch(`http://localhost:${port}/answers`)).text();
  await app.close();
  expect(signals[1]!.aborted).toBe(false);
});
