import { createHash } from 'node:crypto';
import { open } from 'node:fs/promises';
import { makeHead, pad4 } from '../document/container.ts';
import type { GltfJson } from '../document/json.ts';
import type { ByteRange } from './plan-cuts.ts';

/** Large enough to make few calls, small enough that hashing one blocks the event loop for a millisecond only. */
const CHUNK_BYTES = 1024 * 1024;
/** Data is synced in the background this often, so that the last sync has little left to do. */
const FLUSH_BYTES = 16 * 1024 * 1024;
/** Chunks in memory at once: one is read while another is hashed and another is written. */
const BUFFERS = 3;

/** Byte ranges of a file, counted from its start. */
export interface ByteSource {
  readonly path: string;
  readonly ranges: readonly ByteRange[];
}

/**
 * Writes a GLB whose BIN chunk holds ranges of a source file, then further bytes. Hashes while it writes, and syncs the file.
 */
export async function streamGlb(
  targetPath: string,
  json: GltfJson,
  source: ByteSource,
  appended: readonly Uint8Array[],
): Promise<{ sha256: string; bytes: number; jsonBytes: number }> {
  const sourceBytes = source.ranges.reduce((sum, range) => sum + range.end - range.start, 0);
  const appendedBytes = appended.reduce((sum, part) => sum + part.length, 0);
  const binBytes = sourceBytes + appendedBytes;
  const head = makeHead(json, binBytes);
  const hash = createHash('sha256');
  const target = await open(targetPath, 'w');
  let position = 0;
  let flushed = 0;
  let writing: Promise<unknown> = Promise.resolve();
  /** The system reports a failed write to one sync alone, so that of the background must not lose it. */
  let flushing: Promise<unknown> = Promise.resolve();
  const put = async (bytes: Uint8Array): Promise<void> => {
    const at = position;
    position += bytes.length;
    const write = writing.then(() => writeAll(target, bytes, at));
    if (position - flushed >= FLUSH_BYTES) {
      flushed = position;
      flushing = Promise.all([flushing, write.then(() => target.datasync())]);
      flushing.catch(() => undefined); // awaited at the end
    }
    writing = write;
    write.catch(() => undefined); // a rejection is awaited below, after hashing
    hash.update(bytes);
  };
  try {
    await put(head);
    if (sourceBytes > 0) {
      const file = await open(source.path, 'r');
      try {
        await copyRanges(file, source.ranges, put, () => writing);
      } finally {
        await file.close();
      }
    }
    for (const part of appended) await put(part);
    const padding = pad4(binBytes) - binBytes;
    if (padding > 0) await put(new Uint8Array(padding));
    await writing;
    await flushing;
    await target.sync();
  } finally {
    await Promise.allSettled([writing, flushing]);
    await target.close();
  }
  return { sha256: hash.digest('hex'), bytes: position, jsonBytes: head.length - (binBytes > 0 ? 28 : 20) };
}

/** Collects the parts of a BIN chunk, each added one at a multiple of four bytes. @param parts those that stand already */
export function collectParts(parts: Uint8Array[] = []) {
  let length = parts.reduce((sum, part) => sum + part.length, 0);
  return {
    parts,
    get length() {
      return length;
    },
    /** @returns where the bytes begin */
    append(bytes: Uint8Array): number {
      const padding = pad4(length) - length;
      if (padding > 0) parts.push(new Uint8Array(padding));
      const offset = length + padding;
      parts.push(bytes);
      length = offset + bytes.length;
      return offset;
    },
  };
}

async function copyRanges(
  file: Awaited<ReturnType<typeof open>>,
  ranges: readonly ByteRange[],
  put: (bytes: Uint8Array) => Promise<void>,
  written: () => Promise<unknown>,
): Promise<void> {
  const buffers = Array.from({ length: BUFFERS }, () => Buffer.allocUnsafeSlow(CHUNK_BYTES));
  const busy: Promise<unknown>[] = buffers.map(() => Promise.resolve());
  const pieces = listPieces(ranges);
  let turn = 0;
  const read = async (piece: ByteRange | undefined): Promise<{ bytes: Buffer; slot: number } | null> => {
    if (!piece) return null;
    const slot = turn++ % BUFFERS;
    await busy[slot];
    const bytes = buffers[slot]!.subarray(0, piece.end - piece.start);
    for (let done = 0; done < bytes.length; ) {
      const { bytesRead } = await file.read(bytes, done, bytes.length - done, piece.start + done);
      if (bytesRead === 0) throw new Error('the model on disk is shorter than when it was read');
      done += bytesRead;
    }
    return { bytes, slot };
  };
  let ahead = read(pieces.next().value as ByteRange | undefined);
  for (;;) {
    const current = await ahead;
    if (!current) return;
    ahead = read(pieces.next().value as ByteRange | undefined);
    ahead.catch(() => undefined); // awaited in the next round
    await put(current.bytes);
    busy[current.slot] = written();
  }
}

function* listPieces(ranges: readonly ByteRange[]): Generator<ByteRange, undefined> {
  for (const { start, end } of ranges) {
    for (let at = start; at < end; at += CHUNK_BYTES) yield { start: at, end: Math.min(end, at + CHUNK_BYTES) };
  }
  return undefined;
}

async function writeAll(file: Awaited<ReturnType<typeof open>>, bytes: Uint8Array, position: number): Promise<void> {
  for (let done = 0; done < bytes.length; ) {
    const { bytesWritten } = await file.write(bytes, done, bytes.length - done, position + done);
    done += bytesWritten;
  }
}
