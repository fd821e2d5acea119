import { type FileHandle, open, rm } from 'node:fs/promises';
import { posix } from 'node:path';
import { sniffImage } from '../../core/finish/map-image.ts';
import { Problem } from '../../core/problems.ts';
import type { Damage } from '../../core/product/survey.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';
import { makeHead, pad4, parseGltf } from '../document/container.ts';
import { type BufferJson, type GltfJson, MESHOPT } from '../document/json.ts';
import { readDataUri } from '../document/stored-bytes.ts';
import { mendJson } from '../mend/read-model.ts';
import { checkComplexity } from './check-complexity.ts';
import { checkStructure } from './check-structure.ts';
import { openArchive } from './read-archive.ts';

/** The bytes that a URI of the model refers to, chunk by chunk. */
type Resolve = (uri: string, where: string) => Iterable<Uint8Array> | AsyncIterable<Uint8Array>;

/** Packs a self-contained `.gltf` (every URI a data URI) into a GLB. */
export async function packGltf(bytes: Uint8Array, targetPath: string): Promise<readonly Damage[]> {
  return pack(parseGltf(bytes), decodeDataUri, targetPath);
}

/** Packs the one `.gltf` of a zip, with the files it names, into a GLB. */
export async function packArchive(zipPath: string, targetPath: string): Promise<readonly Damage[]> {
  const archive = await openArchive(zipPath);
  try {
    const models = archive.paths.filter((path) => /\.gltf$/i.test(path) && !path.startsWith('__MACOSX/'));
    if (models.length !== 1) {
      throw new Problem('archive-no-model', {
        detail: MODEL_PROBLEMS['archive-no-model'](models.length),
        expected: 1,
        received: models.slice(0, 10),
      });
    }
    const [model] = models as [string];
    const folder = posix.dirname(model);
    const resolve: Resolve = (uri, where) => {
      if (uri.startsWith('data:')) return decodeDataUri(uri, where);
      if (/^[a-z][a-z0-9+.-]*:/i.test(uri) || uri.startsWith('//')) outside(uri, where);
      const path = posix.normalize(posix.join(folder, safeDecode(uri.split(/[?#]/)[0] ?? '')));
      if (path.startsWith('..') || posix.isAbsolute(path)) {
        throw new Problem('archive-path', {
          detail: MODEL_PROBLEMS['archive-path'].uri(uri.slice(0, 120)),
          received: uri.slice(0, 120),
          where,
        });
      }
      if (!archive.has(path)) {
        throw new Problem('archive-missing-file', {
          detail: MODEL_PROBLEMS['archive-missing-file'].needed(path),
          received: uri.slice(0, 120),
          where,
        });
      }
      return archive.stream(path);
    };
    return await pack(parseGltf(await archive.read(model)), resolve, targetPath);
  } finally {
    archive.close();
  }
}

/**
 * Joins all buffers and images in one BIN chunk. Buffer views keep their indices, and their bytes do not change. Buffers
 * without a URI (fallbacks of meshopt) stay as additional buffers. All other values stay, damaged or not.
 * @returns the corrections of buffers, views and images
 */
async function pack(read: GltfJson, resolve: Resolve, targetPath: string): Promise<readonly Damage[]> {
  // the JSON comes first in the file and depends on all other bytes, so these wait in a file of their own
  const binPath = `${targetPath}.bin`;
  const bin = await open(binPath, 'w+');
  try {
    return await packParts(read, resolve, targetPath, new BinWriter(bin));
  } finally {
    await bin.close();
    await rm(binPath, { force: true });
  }
}

async function packParts(
  read: GltfJson,
  resolve: Resolve,
  targetPath: string,
  bin: BinWriter,
): Promise<readonly Damage[]> {
  checkComplexity(read);
  const mended = mendJson(read);
  checkStructure(mended.json);
  const { buffers, bufferViews, images } = mended.json;
  const json: GltfJson = {
    ...read,
    ...(buffers && { buffers }),
    ...(bufferViews && { bufferViews }),
    ...(images && { images }),
  };
  const merges = [...(json.buffers ?? []), ...(json.images ?? [])].some((item) => item.uri !== undefined);
  const kept: BufferJson[] = [];
  const places: { buffer: number; offset: number }[] = [];
  for (const [i, buffer] of (json.buffers ?? []).entries()) {
    if (buffer.uri === undefined) {
      kept.push(buffer);
      places.push({ buffer: merges ? kept.length : kept.length - 1, offset: 0 });
      continue;
    }
    const { offset, found } = await bin.append(resolve(buffer.uri, `/buffers/${i}`), buffer.byteLength);
    if (found < buffer.byteLength) {
      throw new Problem('model-truncated', {
        detail: MODEL_PROBLEMS['model-truncated'].bufferFile(i, buffer.byteLength, found),
        expected: buffer.byteLength,
        received: found,
        where: `/buffers/${i}`,
      });
    }
    places.push({ buffer: 0, offset });
  }
  const move = (range: { buffer: number; byteOffset?: number }) => {
    const place = places[range.buffer]!;
    range.buffer = place.buffer;
    if (place.offset > 0) range.byteOffset = (range.byteOffset ?? 0) + place.offset;
  };
  for (const view of json.bufferViews ?? []) {
    move(view);
    for (const name of MESHOPT) if (view.extensions?.[name]) move(view.extensions[name] as never);
  }
  for (const [i, image] of (json.images ?? []).entries()) {
    if (image.uri === undefined) continue;
    const { offset, found, head } = await bin.append(resolve(image.uri, `/images/${i}`));
    const mimeType = sniffImage(head) ?? image.mimeType;
    delete image.uri;
    image.bufferView = (json.bufferViews ??= []).push({ buffer: 0, byteOffset: offset, byteLength: found }) - 1;
    if (mimeType) image.mimeType = mimeType;
  }
  const { length } = bin;
  if (length > 0) json.buffers = [{ byteLength: length }, ...kept];
  else if (kept.length > 0) json.buffers = kept;

  const file = await open(targetPath, 'w');
  try {
    await file.write(makeHead(json, length));
    for await (const part of bin.read()) await file.write(part);
    await file.sync();
  } finally {
    await file.close();
  }
  return mended.damages.filter(({ where }) => /^\/(?:buffers|bufferViews|images)\//.test(where));
}

/** Bytes that go from one file to the other at a time. */
const CHUNK_BYTES = 1024 * 1024;
/** First bytes of a file, which tell its format. */
const HEAD_BYTES = 64;

/** Appends files to a BIN chunk on disk, each from a multiple of four bytes. */
class BinWriter {
  length = 0;
  readonly #file: FileHandle;

  constructor(file: FileHandle) {
    this.#file = file;
  }

  /**
   * @param most bytes that are kept; the rest is read and dropped
   * @returns the place of the first byte, the number of bytes found, and the first of them
   */
  async append(source: ReturnType<Resolve>, most = Number.POSITIVE_INFINITY) {
    const offset = this.length;
    let found = 0;
    let head = Buffer.alloc(0);
    for await (const chunk of source) {
      if (head.length < HEAD_BYTES) head = Buffer.concat([head, chunk.subarray(0, HEAD_BYTES)]);
      const kept = chunk.subarray(0, Math.max(0, most - found));
      if (kept.length > 0) await this.#file.write(kept, 0, kept.length, offset + found);
      found += chunk.length;
    }
    // the gap reads as zeros
    this.length = offset + pad4(Math.min(found, most));
    await this.#file.truncate(this.length);
    return { offset, found, head };
  }

  async *read(): AsyncGenerator<Buffer> {
    for (let at = 0; at < this.length; ) {
      const chunk = Buffer.allocUnsafe(Math.min(CHUNK_BYTES, this.length - at));
      const { bytesRead } = await this.#file.read(chunk, 0, chunk.length, at);
      if (bytesRead === 0) throw new Error('the packed bytes are gone');
      yield chunk.subarray(0, bytesRead);
      at += bytesRead;
    }
  }
}

function* decodeDataUri(uri: string, where: string): Generator<Uint8Array> {
  yield readDataUri(uri) ?? outside(uri, where);
}

/** @throws Problem `model-outside-file` */
export function outside(uri: string, where: string): never {
  throw new Problem('model-outside-file', {
    detail: MODEL_PROBLEMS['model-outside-file'](uri.slice(0, 120)),
    received: uri.slice(0, 120),
    where,
  });
}

function safeDecode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
