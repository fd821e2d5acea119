import { randomBytes } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join, normalize, sep } from 'node:path';

/**
 * Moves bytes in and out of the browser: a private server on the loopback interface, under an unguessable path. It
 * serves the built page, studio files from disk and finishes from memory, and receives raw pixels by POST.
 */
export interface PageServer {
  readonly origin: string;
  /** Address of the studio page. */
  readonly pageUrl: string;
  /** Makes a file or bytes available and returns the URL. */
  offer(content: { readonly path: string } | { readonly bytes: Uint8Array }): {
    readonly url: string;
    withdraw(): void;
  };
  /**
   * A URL that accepts exactly `bytes` bytes once, or with `split` at most this many; the promise resolves when they have
   * arrived. Each piece has a buffer of its own, so it can be transferred to another thread.
   */
  expect(bytes: number, split?: Split): Delivery;
  close(): Promise<void>;
}

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.wasm': 'application/wasm',
  '.css': 'text/css; charset=utf-8',
};

/**
 * The page may fetch only from this server. The Draco and Basis decoders run in blob workers. The Basis decoder needs
 * `unsafe-eval`, because it builds its bindings with `new Function` from its own text. No text of a model is ever run.
 */
const CONTENT_SECURITY_POLICY = [
  "default-src 'none'",
  "script-src 'self' 'unsafe-eval' blob:",
  'worker-src blob:',
  "connect-src 'self' blob: data:",
  'img-src blob: data:',
  "form-action 'none'",
  "frame-ancestors 'none'",
  "base-uri 'none'",
].join('; ');

/** The length of the next piece of a body, bytes, computed from the earlier pieces. */
export type Split = (pieces: readonly Uint8Array[]) => number;

/** Expected pixels, in one piece or split. */
export interface Delivery {
  readonly url: string;
  readonly pixels: Promise<readonly Uint8Array[]>;
  cancel(): void;
}

export async function openPageServer(studioFolder: string): Promise<PageServer> {
  const secret = randomBytes(24).toString('base64url');
  const prefix = `/${secret}/`;
  const offers = new Map<string, { readonly path: string } | { readonly bytes: Uint8Array }>();
  const deliveries = new Map<string, Expected>();
  let count = 0;
  let host = '';

  const server = createServer((request, response) => {
    answer(request, response).catch(() => response.destroy());
  });

  // The browser uses this server as its proxy. It refuses every tunnel.
  server.on('connect', (_, socket) => socket.destroy());
  server.on('upgrade', (_, socket) => socket.destroy());

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    response.setHeader('x-content-type-options', 'nosniff');
    response.setHeader('content-security-policy', CONTENT_SECURITY_POLICY);
    response.setHeader('cache-control', 'no-store');
    response.setHeader('x-dns-prefetch-control', 'off');
    response.setHeader('referrer-policy', 'no-referrer');
    const { pathname } = new URL(request.url ?? '/', 'http://localhost');
    // Another site could reach this server only by guessing the path or by rebinding its name to the loopback. The
    // browser's requests to other hosts also arrive here, because this server is its proxy.
    if (request.headers.host !== host || !pathname.startsWith(prefix)) return refuse(response, 404);
    const place = pathname.slice(prefix.length);
    const [room = '', name = ''] = [place.slice(0, place.indexOf('/')), place.slice(place.indexOf('/') + 1)];
    if (room === 'pixels' && request.method === 'POST') return takePixels(name, request, response);
    if (request.method !== 'GET') return refuse(response, 405);
    if (room === 'offer') return sendOffer(name, response);
    if (room === 'studio') return sendPageFile(name, response);
    return refuse(response, 404);
  }

  async function sendOffer(name: string, response: ServerResponse): Promise<void> {
    const offer = offers.get(name);
    if (!offer) return refuse(response, 404);
    response.setHeader('content-type', 'application/octet-stream');
    if ('bytes' in offer) {
      response.end(offer.bytes);
      return;
    }
    await sendFile(offer.path, response);
  }

  async function sendPageFile(name: string, response: ServerResponse): Promise<void> {
    // The page's own files have plain names, without escapes and parent folders.
    const path = normalize(join(studioFolder, name));
    if (!/^[\w./-]+$/.test(name) || !path.startsWith(normalize(studioFolder) + sep)) return refuse(response, 404);
    response.setHeader('content-type', TYPES[extname(path)] ?? 'application/octet-stream');
    await sendFile(path, response);
  }

  async function takePixels(name: string, request: IncomingMessage, response: ServerResponse): Promise<void> {
    const delivery = deliveries.get(name);
    const sent = Number(request.headers['content-length']);
    if (!delivery || !(delivery.split ? sent <= delivery.bytes : sent === delivery.bytes)) return refuse(response, 400);
    deliveries.delete(name);
    const pieces = await readPieces(request, sent, delivery.split ?? (() => sent));
    if (!pieces) return refuse(response, 400);
    response.statusCode = 204;
    response.end();
    delivery.done(pieces);
  }

  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(0, '127.0.0.1', resolve);
  });
  host = `127.0.0.1:${(server.address() as AddressInfo).port}`;
  const origin = `http://${host}`;
  return {
    origin,
    pageUrl: `${origin}${prefix}studio/index.html`,
    offer(content) {
      const name = String(++count);
      offers.set(name, content);
      return { url: `${origin}${prefix}offer/${name}`, withdraw: () => void offers.delete(name) };
    },
    expect(bytes, split) {
      const name = String(++count);
      const pixels = new Promise<readonly Uint8Array[]>((resolve) => {
        deliveries.set(name, { bytes, split, done: resolve });
      });
      return { url: `${origin}${prefix}pixels/${name}`, pixels, cancel: () => void deliveries.delete(name) };
    },
    close: () => closeServer(server),
  };
}

interface Expected {
  readonly bytes: number;
  readonly split: Split | undefined;
  done(pieces: readonly Uint8Array[]): void;
}

/** Reads a body of a known length piece by piece; null if the pieces do not add up to it. */
async function readPieces(body: AsyncIterable<unknown>, length: number, split: Split): Promise<Uint8Array[] | null> {
  const pieces: Uint8Array[] = [];
  let filled = 0;
  let left = length;
  for await (const chunk of body as AsyncIterable<Uint8Array>) {
    for (let at = 0; at < chunk.length; ) {
      if (pieces.length === 0 || filled === pieces.at(-1)!.length) {
        const size = split(pieces);
        if (size > left) return null;
        left -= size;
        pieces.push(new Uint8Array(size));
        filled = 0;
      }
      const part = chunk.subarray(at, at + pieces.at(-1)!.length - filled);
      pieces.at(-1)!.set(part, filled);
      filled += part.length;
      at += part.length;
    }
  }
  if (left > 0 || filled !== (pieces.at(-1)?.length ?? 0)) return null;
  // An empty last piece needs no bytes.
  if (split(pieces) === 0) pieces.push(new Uint8Array(0));
  return pieces;
}

async function sendFile(path: string, response: ServerResponse): Promise<void> {
  const { size } = await stat(path).catch(() => ({ size: -1 }));
  if (size < 0) return refuse(response, 404);
  response.setHeader('content-length', size);
  await new Promise<void>((resolve, reject) => {
    createReadStream(path).on('error', reject).pipe(response).on('finish', resolve).on('close', resolve);
  });
}

function refuse(response: ServerResponse, status: number): void {
  response.statusCode = status;
  response.end();
}

function closeServer(server: Server): Promise<void> {
  server.closeAllConnections();
  return new Promise((resolve) => server.close(() => resolve()));
}
