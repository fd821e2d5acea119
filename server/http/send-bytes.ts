import { open } from 'node:fs/promises';
import { Readable } from 'node:stream';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { ZipFile } from 'yazl';
import { asJob, getTurn, makeFor } from '../actions/turns.ts';
import type { PartedFile } from '../core/ports/models.ts';
import { readParts } from './read-parts.ts';
import { type StoredEntry, writeStoredZip } from './stored-zip.ts';

interface Content {
  /** SHA-256 of the whole content; it becomes the ETag. */
  readonly sha256: string;
  readonly bytes: number;
  readonly mediaType: string;
  /** True if the content of the URL never changes, so that caches may keep it forever where it is public. */
  readonly immutable?: boolean;
  readonly fileName?: string;
}

/**
 * Sends a file from disk with ETag, If-None-Match and single ranges (RFC 9110 §14). The file is open when this returns,
 * so that it may be given up while it is still being content.
 */
export async function sendFile(
  request: FastifyRequest,
  reply: FastifyReply,
  path: string,
  content: Content,
): Promise<FastifyReply> {
  const file = await open(path, 'r');
  const range = prepare(request, reply, content);
  if (range === 'done') {
    await file.close();
    return reply;
  }
  return reply.send(file.createReadStream(range ? { start: range.start, end: range.end } : {}));
}

/** Sends a file that is in parts the same way. It is planned only if its bytes are asked for. */
export async function sendParts(
  request: FastifyRequest,
  reply: FastifyReply,
  openParts: () => Promise<PartedFile>,
  content: Content,
): Promise<FastifyReply> {
  const range = prepare(request, reply, content);
  if (range === 'done') return reply;
  const parts = await openParts();
  const file = await open(parts.path, 'r');
  const { start, end } = range ? { start: range.start, end: range.end + 1 } : { start: 0, end: parts.bytes };
  const stream = Readable.from(readParts(parts, file, start, end), { objectMode: false });
  // also when nobody ever reads it
  stream.once('close', () => void file.close());
  return reply.send(stream);
}

/** How long a cache may send the current delivery without asking, so that a new one, or a withdrawal, arrives in a minute. */
const CURRENT_S = 60;

/**
 * Says who may keep an answer: any cache what `DYEWORKS_PUBLIC` opens, else only the caller's own, which asks again each time.
 * So what a browser keeps is not shown after its person signs out (RFC 9111 §5.2.2).
 * @param time `forever`: the content of the address never changes
 */
export function allowCaching(
  request: FastifyRequest,
  reply: FastifyReply,
  time: 'forever' | 'until-changed' = 'until-changed',
) {
  const isCurrent = (request.params as { readonly delivery?: string } | undefined)?.delivery === 'current';
  if (!request.open) reply.header('cache-control', 'private, no-cache').header('vary', 'authorization, cookie');
  else if (isCurrent) reply.header('cache-control', `public, max-age=${CURRENT_S}`);
  else reply.header('cache-control', time === 'forever' ? 'public, max-age=31536000, immutable' : 'public, no-cache');
}

/** Sends bytes in memory the same way. */
export function sendBytes(
  request: FastifyRequest,
  reply: FastifyReply,
  body: Uint8Array,
  content: Omit<Content, 'bytes'>,
): FastifyReply {
  const range = prepare(request, reply, { ...content, bytes: body.length });
  if (range === 'done') return reply;
  const part = range ? body.subarray(range.start, range.end + 1) : body;
  return reply.send(Buffer.from(part.buffer, part.byteOffset, part.byteLength));
}

/** Sends a picture in memory; the header `picture-source` says how it was made. */
export function sendPicture(
  request: FastifyRequest,
  reply: FastifyReply,
  picture: { readonly bytes: Uint8Array; readonly sha256: string; readonly mediaType: string; readonly source: string },
  fileName?: string,
): FastifyReply {
  reply.header('picture-source', picture.source);
  const { bytes, sha256, mediaType } = picture;
  return sendBytes(request, reply, bytes, { sha256, mediaType, ...(fileName !== undefined && { fileName }) });
}

function prepare(
  request: FastifyRequest,
  reply: FastifyReply,
  content: Content,
): { start: number; end: number } | null | 'done' {
  const etag = `"${content.sha256}"`;
  reply.header('etag', etag).header('accept-ranges', 'bytes');
  if (content.immutable) allowCaching(request, reply, 'forever');
  if (content.fileName)
    reply.header('content-disposition', `attachment; filename="${content.fileName.replace(/[^\w.-]/g, '_')}"`);
  if (matches(request.headers['if-none-match'], etag)) {
    reply.status(304).send();
    return 'done';
  }
  reply.type(content.mediaType);
  const range = readRange(request, etag, content.bytes);
  if (range === 'unsatisfiable') {
    reply.status(416).header('cache-control', 'no-store').header('content-range', `bytes */${content.bytes}`);
    reply.send();
    return 'done';
  }
  if (range) {
    reply.status(206).header('content-range', `bytes ${range.start}-${range.end}/${content.bytes}`);
    reply.header('content-length', range.end - range.start + 1);
  } else reply.header('content-length', content.bytes);
  return range;
}

function matches(header: string | undefined, etag: string): boolean {
  if (!header) return false;
  return header === '*' || header.split(',').some((tag) => tag.trim().replace(/^W\//, '') === etag);
}

/** One range, open at either end. Several ranges, or an unknown form, are answered with the whole content. */
function readRange(
  request: FastifyRequest,
  etag: string,
  bytes: number,
): { start: number; end: number } | null | 'unsatisfiable' {
  const ifRange = request.headers['if-range'];
  const match = /^bytes=(\d*)-(\d*)$/.exec(request.headers.range ?? '');
  if (!match || (match[1] === '' && match[2] === '') || (ifRange !== undefined && ifRange !== etag)) return null;
  const start = match[1] === '' ? Math.max(0, bytes - Number(match[2])) : Number(match[1]);
  const end = match[1] === '' || match[2] === '' ? bytes - 1 : Math.min(Number(match[2]), bytes - 1);
  return start > end || start >= bytes ? 'unsatisfiable' : { start, end };
}

export interface ZipEntry {
  /** Path in the archive, with `/`. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/**
 * Zips have no usable time: 1 January 1980 is the first that the format can state, so that the same files give the same
 * bytes. yazl writes the local date, without the extra field that holds a UTC time.
 */
const OPTIONS = { mtime: new Date(1980, 0, 1), forceDosTimestamp: true, mode: 0o100644, compress: false };

/**
 * Sends a zip while its files are made, without storing it. Its file name has ASCII letters only. Its many pictures come after
 * those of persons who wait for one, and stop when the caller leaves.
 */
export function sendZip(reply: FastifyReply, name: string, entries: AsyncIterable<ZipEntry>): FastifyReply {
  return reply
    .type('application/zip')
    .header('content-disposition', `attachment; filename="${name.replace(/[^\w.-]/g, '_')}.zip"`)
    .send(Readable.from(writeZip(makeFor(asJob(getTurn()), entries))));
}

/** Sends a zip of files on disk, which are read while they are sent; see `writeStoredZip`. */
export function sendStoredZip(reply: FastifyReply, name: string, entries: AsyncIterable<StoredEntry>): FastifyReply {
  return reply
    .type('application/zip')
    .header('content-disposition', `attachment; filename="${name.replace(/[^\w.-]/g, '_')}.zip"`)
    .send(Readable.from(makeFor(asJob(getTurn()), writeStoredZip(entries)), { objectMode: false }));
}

/**
 * A zip of files that arrive one by one, written as they arrive. Pictures are compressed already, so all files are stored
 * (method 0 of APPNOTE 6.3.10). An archive of more than 4 GiB gets the long fields of Zip64 (4.5.3 there).
 */
export async function* writeZip(entries: AsyncIterable<ZipEntry> | Iterable<ZipEntry>): AsyncGenerator<Uint8Array> {
  const zip = new ZipFile();
  const failed = new Promise<never>((_, reject) => zip.once('error', reject));
  failed.catch(() => undefined);
  const stream = zip.outputStream as NodeJS.ReadableStream & AsyncIterable<Uint8Array>;
  for await (const { name, bytes } of entries) {
    zip.addBuffer(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength), name, OPTIONS);
    // yazl writes one file per turn of the event loop
    await Promise.race([failed, new Promise((resolve) => setImmediate(resolve))]);
    for (let chunk = stream.read(); chunk !== null; chunk = stream.read()) yield chunk as unknown as Uint8Array;
  }
  zip.end();
  yield* stream;
}
