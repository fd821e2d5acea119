import { readFileSync } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { Problem } from '../../core/problems.ts';
import { MODEL_PROBLEMS } from '../../core/texts/problems/model.ts';
import { type GltfJson, MESHOPT } from './json.ts';
import { parseSharedJson, writeSharedJson } from './shared-mappings.ts';

/** The chunks of a GLB: the parsed JSON, and the place of the BIN chunk in the file. */
export interface Container {
  readonly json: GltfJson;
  readonly jsonBytes: number;
  /** Null when the file has no BIN chunk. `length` is `buffers[0].byteLength`, without padding. */
  readonly bin: { readonly offset: number; readonly length: number } | null;
  readonly fileBytes: number;
}

const MAGIC = 0x46546c67;
const JSON_CHUNK = 0x4e4f534a;
const BIN_CHUNK = 0x004e4942;
/** No product model has a larger JSON chunk; to parse one would take gigabytes. */
const JSON_LIMIT = 256 * 1024 * 1024;

/**
 * Reads the header, the JSON chunk and the place of the BIN chunk (glTF 2.0 §4.4), but not the BIN chunk itself.
 * @param parse reads the JSON chunk
 * @throws Problem `model-unreadable`, `model-truncated`, `model-version`, `model-json`
 */
export async function readContainer(path: string, parse: (bytes: Buffer) => GltfJson = parseGltf): Promise<Container> {
  const file = await open(path, 'r');
  try {
    return await readChunks(file, (await file.stat()).size, parse);
  } finally {
    await file.close();
  }
}

/** The same, of a file that was delivered: equal mappings are one object, which nobody may change. */
export function readDelivered(path: string): Promise<Container> {
  return readContainer(path, (bytes) => parseSharedJson(bytes, parseGltf));
}

async function readChunks(file: FileHandle, fileBytes: number, parse: (bytes: Buffer) => GltfJson): Promise<Container> {
  const header = await readExactly(file, 0, 12, fileBytes);
  if (header.readUInt32LE(0) !== MAGIC) {
    throw new Problem('model-unreadable', {
      detail: MODEL_PROBLEMS['model-unreadable'].notGlb,
      expected: 'glTF',
      received: header.toString('latin1', 0, 4).replace(/[^\x20-\x7e]/g, '?'),
    });
  }
  const version = header.readUInt32LE(4);
  if (version !== 2) {
    throw new Problem('model-version', {
      detail: MODEL_PROBLEMS['model-version'].container(version),
      expected: 2,
      received: version,
    });
  }
  const stated = header.readUInt32LE(8);
  if (stated !== fileBytes) {
    const isShort = stated > fileBytes;
    throw new Problem(isShort ? 'model-truncated' : 'model-unreadable', {
      detail: isShort
        ? MODEL_PROBLEMS['model-truncated'].shorterThanStated(stated, fileBytes)
        : MODEL_PROBLEMS['model-unreadable'].longerThanStated(stated, fileBytes),
      expected: stated,
      received: fileBytes,
    });
  }
  let json: { value: GltfJson; bytes: number } | null = null;
  let bin: { offset: number; length: number } | null = null;
  for (let offset = 12, chunk = 0; offset < fileBytes; chunk++) {
    const head = await readExactly(file, offset, 8, fileBytes);
    const length = head.readUInt32LE(0);
    const type = head.readUInt32LE(4);
    const start = offset + 8;
    if (start + length > fileBytes) {
      throw new Problem('model-truncated', {
        detail: MODEL_PROBLEMS['model-truncated'].chunk(chunk, length, fileBytes - start),
        expected: length,
        received: fileBytes - start,
      });
    }
    if (chunk === 0) {
      if (type !== JSON_CHUNK || length > JSON_LIMIT) {
        throw new Problem('model-unreadable', {
          detail: MODEL_PROBLEMS['model-unreadable'].noJson,
          received: type.toString(16),
        });
      }
      json = { value: parse(await readExactly(file, start, length, fileBytes)), bytes: length };
    } else if (chunk === 1 && type === BIN_CHUNK) {
      bin = { offset: start, length };
    }
    offset = start + length;
  }
  if (!json) {
    throw new Problem('model-truncated', {
      detail: MODEL_PROBLEMS['model-truncated'].noChunks,
      received: fileBytes,
    });
  }
  return { json: json.value, jsonBytes: json.bytes, bin: trimBin(json.value, bin), fileBytes };
}

/** The BIN chunk is buffer 0 if that has no URI. Padding after the stated length is not part of it. */
function trimBin(json: GltfJson, bin: { offset: number; length: number } | null): Container['bin'] {
  const buffer = Array.isArray(json.buffers) ? json.buffers[0] : undefined;
  if (!buffer || typeof buffer !== 'object' || buffer.uri !== undefined) return null;
  if (!bin) {
    // a fallback buffer of meshopt has no bytes on purpose
    if (MESHOPT.some((name) => buffer.extensions?.[name]?.fallback === true)) return null;
    throw new Problem('model-truncated', {
      detail: MODEL_PROBLEMS['model-truncated'].noBin(buffer.byteLength),
      expected: buffer.byteLength,
      received: 0,
      where: '/buffers/0',
    });
  }
  if (!Number.isSafeInteger(buffer.byteLength) || buffer.byteLength > bin.length) {
    throw new Problem('model-truncated', {
      detail: MODEL_PROBLEMS['model-truncated'].bin(buffer.byteLength, bin.length),
      expected: buffer.byteLength,
      received: bin.length,
      where: '/buffers/0/byteLength',
    });
  }
  return { offset: bin.offset, length: buffer.byteLength };
}

/**
 * Parses glTF JSON and checks that it is an object of a version that can be read.
 * @param memberLimit most members of objects and lists, counted before they are made
 * @throws Problem `model-json`, `model-version`, `model-too-complex`
 */
export function parseGltf(bytes: Uint8Array, memberLimit = MEMBER_LIMIT): GltfJson {
  refuseDepth(bytes, memberLimit);
  let value: unknown;
  try {
    value = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes));
  } catch (cause) {
    throw new Problem('model-json', {
      detail: MODEL_PROBLEMS['model-json'].unreadable((cause as Error).message.slice(0, 200)),
      cause,
    });
  }
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    throw new Problem('model-json', { detail: MODEL_PROBLEMS['model-json'].notObject });
  }
  const asset = (value as Partial<GltfJson>).asset as Partial<GltfJson['asset']> | null | undefined;
  const version = asset?.version;
  if (typeof version !== 'string' || !/^2\.\d+$/.test(version) || (asset?.minVersion ?? '2.0') !== '2.0') {
    throw new Problem('model-version', {
      detail: MODEL_PROBLEMS['model-version'].asset,
      expected: '2.0',
      received: version,
      where: '/asset/version',
    });
  }
  return value as GltfJson;
}

/** Deeper than any real glTF, extras and extensions included. To write tens of thousands of levels overflows the stack. */
const DEPTH_LIMIT = 200;

/** Objects, lists and their members in the JSON. The largest product models have a tenth; each takes some tens of bytes. */
const MEMBER_LIMIT = 32_000_000;

/** @throws Problem `model-too-complex` */
function refuseDepth(bytes: Uint8Array, memberLimit: number): void {
  let depth = 0;
  let members = 0;
  let inText = false;
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i];
    if (inText) {
      if (byte === BACKSLASH) i++;
      else if (byte === QUOTE) inText = false;
    } else if (byte === QUOTE) inText = true;
    else if (byte === COMMA) members++;
    else if (byte === 0x7b || byte === 0x5b) {
      members++;
      if (++depth > DEPTH_LIMIT) {
        throw new Problem('model-too-complex', {
          detail: MODEL_PROBLEMS['model-too-complex'].depth(DEPTH_LIMIT),
          expected: DEPTH_LIMIT,
        });
      }
    } else if (byte === 0x7d || byte === 0x5d) depth--;
  }
  if (members > memberLimit) {
    throw new Problem('model-too-complex', {
      detail: MODEL_PROBLEMS['model-too-complex'].members(members, memberLimit),
      expected: memberLimit,
      received: members,
    });
  }
}

const QUOTE = 0x22;
const BACKSLASH = 0x5c;
const COMMA = 0x2c;

async function readExactly(file: FileHandle, offset: number, length: number, fileBytes: number): Promise<Buffer> {
  if (offset + length > fileBytes) {
    throw new Problem('model-truncated', {
      detail: MODEL_PROBLEMS['model-truncated'].inHeader(fileBytes),
      received: fileBytes,
    });
  }
  const buffer = Buffer.allocUnsafe(length);
  let done = 0;
  while (done < length) {
    const { bytesRead } = await file.read(buffer, done, length - done, offset + done);
    if (bytesRead === 0) break;
    done += bytesRead;
  }
  return buffer;
}

/** The 12-byte header and the JSON chunk, padded with spaces, of a GLB whose BIN chunk will have `binBytes` bytes. */
export function makeHead(json: GltfJson, binBytes: number): Buffer {
  const text = writeSharedJson(json);
  const jsonBytes = pad4(text.length);
  const binChunk = binBytes > 0 ? 8 + pad4(binBytes) : 0;
  const head = Buffer.alloc(12 + 8 + jsonBytes + (binBytes > 0 ? 8 : 0), 0x20);
  head.writeUInt32LE(MAGIC, 0);
  head.writeUInt32LE(2, 4);
  head.writeUInt32LE(12 + 8 + jsonBytes + binChunk, 8);
  head.writeUInt32LE(jsonBytes, 12);
  head.writeUInt32LE(JSON_CHUNK, 16);
  text.copy(head, 20);
  if (binBytes > 0) {
    head.writeUInt32LE(pad4(binBytes), 20 + jsonBytes);
    head.writeUInt32LE(BIN_CHUNK, 24 + jsonBytes);
  }
  return head;
}

/** A GLB in memory with its JSON changed. Everything after the JSON chunk stays as it is. */
export function replaceJson(file: Buffer, change: (json: GltfJson) => GltfJson): Buffer {
  const end = 20 + file.readUInt32LE(12);
  const head = makeHead(change(parseGltf(file.subarray(20, end))), 0);
  const rest = file.subarray(end);
  head.writeUInt32LE(head.length + rest.length, 8);
  return Buffer.concat([head, rest]);
}

export function pad4(bytes: number): number {
  return Math.ceil(bytes / 4) * 4;
}

/**
 * Reads a whole file synchronously, for worker threads, which have no other task. The asynchronous read uses steps of half a
 * mebibyte and takes 132 ms for 150 MB instead of 90 ms.
 */
export function readWholeFile(path: string): Buffer {
  return readFileSync(path);
}
