import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { request } from 'node:http';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openPageServer, type PageServer } from '../../renderer/page-server.ts';

describe('the private page server', () => {
  const folder = mkdtempSync(join(tmpdir(), 'page-server-'));
  let server: PageServer;
  beforeAll(async () => {
    writeFileSync(join(folder, 'index.html'), '<!doctype html>');
    server = await openPageServer(folder);
  });
  afterAll(async () => {
    await server.close();
    rmSync(folder, { recursive: true });
  });

  it('serves the page under its secret path only, with a policy', async () => {
    const answer = await fetch(server.pageUrl);
    expect(answer.status).toBe(200);
    expect(answer.headers.get('content-security-policy')).toContain("default-src 'none'");
    expect((await fetch(`${server.origin}/studio/index.html`)).status).toBe(404);
    expect((await fetch(`${server.origin}/`)).status).toBe(404);
  });

  it('refuses any other host name', async () => {
    const status = await new Promise((resolve, reject) => {
      request(server.pageUrl, { headers: { host: 'studio.example' } }, (answer) => resolve(answer.resume().statusCode))
        .on('error', reject)
        .end();
    });
    expect(status).toBe(404);
  });

  it('is a proxy that leads nowhere: it refuses requests to others, and opens no tunnel', async () => {
    // RFC 9112 §3.2.2 (absolute form) and §3.2.3 (authority form).
    const { port } = new URL(server.origin);
    const ask = (start: string, host: string) =>
      new Promise<string>((resolve, reject) => {
        let heard = '';
        const socket = connect(Number(port), '127.0.0.1', () =>
          socket.write(`${start} HTTP/1.1\r\nhost: ${host}\r\nconnection: close\r\n\r\n`),
        );
        socket.setEncoding('utf8').on('data', (text) => {
          heard += text;
        });
        socket.on('error', reject).on('close', () => resolve(heard));
      });
    expect(await ask('GET http://192.0.2.1/x.bin', '192.0.2.1')).toMatch(/^HTTP\/1.1 404 /);
    expect(await ask('CONNECT 192.0.2.1:443', '192.0.2.1:443')).toBe('');
  });

  it('serves nothing outside its folder', async () => {
    for (const path of ['..%2f..%2fetc%2fpasswd', '%2e%2e/%2e%2e/etc/passwd', 'missing.js', '%00', '%']) {
      const url = new URL(path, server.pageUrl);
      expect((await fetch(url)).status, path).toBe(404);
    }
  });

  it('serves an offer until it is withdrawn', async () => {
    const offer = server.offer({ bytes: new Uint8Array([1, 2, 3]) });
    expect(new Uint8Array(await (await fetch(offer.url)).arrayBuffer())).toEqual(new Uint8Array([1, 2, 3]));
    offer.withdraw();
    expect((await fetch(offer.url)).status).toBe(404);
  });

  it('accepts pixels once, and only in the announced size', async () => {
    const delivery = server.expect(4);
    const post = (bytes: number) => fetch(delivery.url, { method: 'POST', body: new Uint8Array(bytes).fill(7) });
    expect((await post(5)).status).toBe(400);
    expect((await post(4)).status).toBe(204);
    expect(await delivery.pixels).toEqual([new Uint8Array([7, 7, 7, 7])]);
    expect((await post(4)).status).toBe(400);
  });

  it('accepts pixels in pieces, each in its own buffer, and refuses pieces that do not add up', async () => {
    // The first byte of a piece tells how many follow it: two, none, one, none.
    const split = (pieces: readonly Uint8Array[]) => (pieces.length % 2 === 0 ? 1 : pieces.at(-1)![0]!);
    const send = (delivery: { url: string }, ...bytes: number[]) =>
      fetch(delivery.url, { method: 'POST', body: new Uint8Array(bytes) });
    const delivery = server.expect(8, split);
    expect((await send(delivery, 2, 5, 6, 0, 1, 9, 0)).status).toBe(204);
    const pieces = await delivery.pixels;
    expect(pieces.map((piece) => [...piece])).toEqual([[2], [5, 6], [0], [], [1], [9], [0], []]);
    expect(new Set(pieces.map(({ buffer }) => buffer)).size).toBe(pieces.length);
    expect((await send(server.expect(8, split), 2, 5)).status).toBe(400);
    expect((await send(server.expect(2, split), 2, 5, 6)).status).toBe(400);
  });
});
