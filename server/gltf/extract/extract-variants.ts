import { createHash } from 'node:crypto';
import { closeSync, openSync, readSync, statSync } from 'node:fs';
import { crc32 } from 'node:zlib';
import type { ExtractRequest, PartedFile } from '../../core/ports/models.ts';
import { type Container, makeHead, pad4, readContainer } from '../document/container.ts';
import { planExtract } from './plan-extract.ts';

const CHUNK_BYTES = 1024 * 1024;
/** A thread that has no more downloads gives the memory of its last delivery back. */
const KEEP_MS = 20_000;

/** The delivery that was read last: its variants are asked for one after the other. */
let last: { readonly key: string; readonly container: Container } | null = null;
let forgetting: NodeJS.Timeout | undefined;

/** Plans a file with some variants of a delivered one, and digests it: the thread's side of `Models.extract`. */
export async function extractVariants(request: ExtractRequest): Promise<PartedFile & { readonly digest: string }> {
  const { path, digest } = request;
  const { json, bin } = await read(path);
  const { json: planned, ranges: kept, binBytes } = planExtract(json, bin?.length ?? 0, request);
  const offset = bin?.offset ?? 0;
  const ranges = kept.map(({ start, end }) => ({ start: start + offset, end: end + offset }));
  const head = makeHead(planned, binBytes);
  const padding = pad4(binBytes) - binBytes;
  const file = { head, path, ranges, padding, bytes: head.length + binBytes + padding };
  return { ...file, digest: digest === null ? '' : digestParts(file, digest) };
}

export function checksum(path: string): string {
  const bytes = statSync(path).size;
  return digestParts({ head: new Uint8Array(), path, ranges: [{ start: 0, end: bytes }], padding: 0 }, 'crc32');
}

async function read(path: string): Promise<Container> {
  const { size, mtimeMs } = statSync(path);
  const key = JSON.stringify([path, size, mtimeMs]);
  if (last?.key !== key) {
    last = null;
    last = { key, container: await readContainer(path) };
  }
  clearTimeout(forgetting);
  forgetting = setTimeout(() => {
    last = null;
  }, KEEP_MS);
  forgetting.unref();
  return last.container;
}

function digestParts({ head, path, ranges, padding }: Omit<PartedFile, 'bytes'>, kind: 'sha256' | 'crc32'): string {
  const digest = kind === 'sha256' ? makeSha256() : makeCrc32();
  const file = openSync(path, 'r');
  const buffer = Buffer.allocUnsafe(CHUNK_BYTES);
  try {
    digest.update(head);
    for (const { start, end } of ranges) {
      for (let at = start; at < end; ) {
        const read = readSync(file, buffer, 0, Math.min(CHUNK_BYTES, end - at), at);
        if (read === 0) throw new Error('the delivered file is shorter than its JSON says');
        digest.update(buffer.subarray(0, read));
        at += read;
      }
    }
    digest.update(new Uint8Array(padding));
    return digest.end();
  } finally {
    closeSync(file);
  }
}

interface Digest {
  update(bytes: Uint8Array): void;
  end(): string;
}

function makeSha256(): Digest {
  const hash = createHash('sha256');
  return { update: (bytes) => void hash.update(bytes), end: () => hash.digest('hex') };
}

function makeCrc32(): Digest {
  let crc = 0;
  return {
    update(bytes) {
      crc = crc32(bytes, crc);
    },
    end: () => crc.toString(16).padStart(8, '0'),
  };
}
