import { createSocket, type Socket } from 'node:dgram';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Page } from 'puppeteer-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { StudioSession } from '../../renderer/studio-session.ts';
import { triangleJson } from '../support/bad-models.ts';
import { makeGlb } from '../support/glb.ts';
import { openTestSession } from './built-studio.ts';

/** A word in a file that no page may see. */
const SECRET = 'the colour of the sample';

describe('the studio page', () => {
  const folder = mkdtempSync(join(tmpdir(), 'network-'));
  const secretUrl = pathToFileURL(join(folder, 'secret.txt')).href;
  let session: StudioSession;
  let page: Page;
  let other: Server;
  let udp: Socket;
  let origin = '';
  /** Everything that reached the other server. */
  const hits: string[] = [];

  beforeAll(async () => {
    writeFileSync(join(folder, 'secret.txt'), SECRET);
    other = createServer((request, response) => {
      response.setHeader('access-control-allow-origin', '*');
      response.end(SECRET);
      hits.push(`${request.method} ${request.url}`);
    });
    other.on('upgrade', (request, socket) => {
      hits.push(`upgrade ${request.url}`);
      socket.destroy();
    });
    other.on('connection', () => hits.push('connection'));
    other.listen(0, '127.0.0.1');
    await once(other, 'listening');
    udp = createSocket('udp4', () => hits.push('packet'));
    udp.bind((other.address() as AddressInfo).port, '127.0.0.1');
    await once(udp, 'listening');
    origin = `127.0.0.1:${(other.address() as AddressInfo).port}`;
    session = await openTestSession();
    [page] = (await session.browser.pages()) as [Page];
  }, 120_000);
  afterAll(async () => {
    await session?.end();
    udp.close();
    other.closeAllConnections();
    other.close();
    rmSync(folder, { recursive: true });
  });
  beforeEach(() => void hits.splice(0));

  /** A kit or model whose parts refer to a URL. */
  async function take(glb: Uint8Array) {
    const offer = session.server.offer({ bytes: glb });
    const delivery = session.server.expect(32 * 32 * 4);
    const order = { kind: 'sphere', light: 'studio', url: offer.url, sizePx: 32, ground: 'white' } as const;
    const answer = await session.call('takeSwatch', order, delivery.url);
    offer.withdraw();
    delivery.cancel();
    return answer;
  }

  const PLACES: Readonly<Record<string, () => string>> = {
    'another service on this machine': () => `http://${origin}/x.bin`,
    'another service by its name': () => `http://localhost:${origin.split(':')[1]}/x.bin`,
    // TEST-NET-1 of RFC 5737, which belongs to nobody.
    'a machine elsewhere': () => 'http://192.0.2.1/x.bin',
    'a file': () => secretUrl,
  };

  it.each(Object.keys(PLACES))('gets no image or buffer of a model from %s', async (place) => {
    const uri = PLACES[place]!();
    const withImage = makeGlb(
      triangleJson({
        buffers: undefined,
        bufferViews: undefined,
        accessors: undefined,
        meshes: undefined,
        nodes: [{}],
        materials: [{ pbrMetallicRoughness: { baseColorTexture: { index: 0 } } }],
        textures: [{ source: 0 }],
        images: [{ uri }],
      }),
    );
    expect(await take(withImage), uri).toMatchObject({ ok: false, code: 'picture-map-unreadable' });
    const withBuffer = makeGlb(triangleJson({ buffers: [{ byteLength: 36, uri }] }));
    const delivery = session.server.expect(32 * 32 * 4);
    const offer = session.server.offer({ bytes: withBuffer });
    const size = { widthPx: 32, heightPx: 32, tilePx: 2048 };
    const order = { key: uri, url: offer.url, assignments: [], view: 'front', mount: 'floor', ...size } as const;
    const answer = await session.call('takeProduct', { ...order, ground: 'white', quality: 'draft' }, delivery.url);
    expect(answer, uri).toMatchObject({ ok: false, code: 'picture-geometry-unreadable' });
    offer.withdraw();
    delivery.cancel();
    expect(hits).toEqual([]);
  });

  /** Ways for a script to contact a server. Each ends as soon as its failure is certain. */
  const WAYS: readonly [way: string, script: string][] = [
    ['fetch', 'await fetch("http://HOST/fetch").then(() => "in", () => 0)'],
    ['fetch without its answer', 'await fetch("http://HOST/blind", { mode: "no-cors" }).then(() => "in", () => 0)'],
    ['a beacon', 'navigator.sendBeacon("http://HOST/beacon", "x") && 0'],
    [
      'an image',
      'await new Promise((go) => { const i = new Image(); i.onload = i.onerror = go; i.src = "http://HOST/image"; }) && 0',
    ],
    [
      'a script',
      'await new Promise((go) => { const i = document.createElement("script"); i.onload = i.onerror = go; i.src = "http://HOST/script"; document.head.append(i); }) && 0',
    ],
    [
      'hints',
      '["preconnect", "dns-prefetch", "prefetch", "preload", "modulepreload"].forEach((rel) => document.head.append(Object.assign(document.createElement("link"), { rel, href: "http://HOST/hint", as: "script" })))',
    ],
    ['events', 'await new Promise((go) => { new EventSource("http://HOST/events").onerror = go; }) && 0'],
    [
      'a socket',
      'await new Promise((go) => { try { const s = new WebSocket("ws://HOST/socket"); s.onerror = s.onclose = () => go(); s.onopen = () => go("in"); } catch { go(); } })',
    ],
    [
      'a transport',
      'await (async () => { try { const t = new WebTransport("https://HOST/transport"); t.closed.catch(() => 0); await t.ready; return "in"; } catch {} })()',
    ],
    [
      'a peer',
      'await (async () => { try { const p = new RTCPeerConnection({ iceServers: [{ urls: ["stun:HOST", "turn:HOST?transport=tcp"], username: "u", credential: "c" }] }); p.createDataChannel("x"); await p.setLocalDescription(); await new Promise((go) => { p.onicegatheringstatechange = () => p.iceGatheringState === "complete" && go(); setTimeout(go, 1000); }); p.close(); } catch {} })()',
    ],
    [
      'a frame',
      'await new Promise((go) => { const i = document.createElement("iframe"); i.onload = i.onerror = go; i.src = "http://HOST/frame"; document.body.append(i); setTimeout(go, 1000); }) && 0',
    ],
    [
      'a worker',
      'await new Promise((go) => { const w = new Worker(URL.createObjectURL(new Blob(["fetch(\\"http://HOST/worker\\", { mode: \\"no-cors\\" }).then(() => postMessage(\\"in\\"), () => postMessage(0))"]))); w.onmessage = (e) => go(e.data); w.onerror = () => go(0); })',
    ],
    ['a file', 'await fetch("FILE").then((answer) => answer.text(), () => 0)'],
    [
      'a file in a frame',
      'await new Promise((go) => { const i = document.createElement("iframe"); i.src = "FILE"; i.onload = () => { try { go(i.contentDocument?.body?.innerText); } catch { go(); } }; document.body.append(i); setTimeout(go, 1000); })',
    ],
  ];
  const write = (script: string) =>
    `(async () => { const said = ${script}; return said || null; })()`
      .replaceAll('HOST', origin)
      .replaceAll('FILE', secretUrl);

  it.each(WAYS)('cannot reach a server by %s', async (_, script) => {
    expect(await page.evaluate(write(script))).toBeNull();
    expect(hits).toEqual([]);
  });

  it.each(WAYS)('cannot reach a server by %s from a tab without a policy either', async (_, script) => {
    const tab = await session.browser.newPage();
    // A refusal is an answer, too. Only the contacted server matters.
    expect(await tab.evaluate(write(script)).catch(() => null)).not.toBe(SECRET);
    await tab.close();
    expect(hits).toEqual([]);
  });

  it.each(['http', 'file'])('does not navigate to %s', async (kind) => {
    const tab = await session.browser.newPage();
    await tab.goto(session.server.pageUrl);
    const url = kind === 'http' ? `http://${origin}/away` : secretUrl;
    await tab.evaluate(`void setTimeout(() => { location.href = ${JSON.stringify(url)}; })`);
    await new Promise((resolve) => setTimeout(resolve, 500));
    expect(await tab.evaluate('document.documentElement.innerText').catch(() => '')).not.toContain(SECRET);
    await tab.close();
    expect(hits).toEqual([]);
  });
});
