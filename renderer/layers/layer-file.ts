import { promisify } from 'node:util';
import { crc32, deflateRaw, inflateRaw } from 'node:zlib';
import { createArrays, type Layer } from './layer.ts';

/**
 * Deflate of the layer's memory as it stands, level 1. Tried on layers of a stool and a lamp at 1024 px, two busy cores:
 *
 * | | bytes | packing | unpacking |
 * |---|---|---|---|
 * | deflate 1 | 146 kB | 13 ms | 1–2 ms |
 * | deflate 1, differences to the left by channel | 117 kB | 10 ms | 1–2 ms, and as much again to add them up |
 * | brotli 3, the same | 106 kB | 10 ms | 7 ms |
 * | lossless WebP, effort 0 | 86 kB | 48 ms | 5–30 ms |
 * | PNG, level 1 | 185 kB | 10 ms | 4 ms |
 *
 * A layer is unpacked more often than packed, and a few layers must not take as long as a picture takes to encode.
 */
const LEVEL = 1;

/** Raised with every change of the format: a file of another one is taken for no layer. */
const MAGIC = 0x44594c31;
const HEADER_WORDS = 11;

/** Largest side of a picture a stored layer may claim; guards the memory that is set aside for it. */
const MAX_SIDE_PX = 16384;

/** Packs a layer into the bytes it is stored as. */
export async function packLayer(layer: Layer): Promise<Uint8Array> {
  const body = new Uint8Array(layer.whole.buffer);
  const { frame, left, top, widthPx, heightPx, black, at } = layer;
  const packed = await promisify(deflateRaw)(body, { level: LEVEL });
  const header = new Uint32Array([
    MAGIC,
    frame.widthPx,
    frame.heightPx,
    left,
    top,
    widthPx,
    heightPx,
    layer.whole.length,
    at.length,
    black ? 1 : 0,
    crc32(packed),
  ]);
  return Buffer.concat([new Uint8Array(header.buffer), packed]);
}

/** Unpacks a stored layer; null when the bytes are not those of a whole layer. */
export async function unpackLayer(bytes: Uint8Array): Promise<Layer | null> {
  if (bytes.length < HEADER_WORDS * 4) return null;
  const header = new Uint32Array(Uint8Array.from(bytes.subarray(0, HEADER_WORDS * 4)).buffer);
  const [magic, frameWidth, frameHeight, left, top, widthPx, heightPx, pixels, count, black, sum] =
    header as unknown as [number, number, number, number, number, number, number, number, number, number, number];
  const packed = bytes.subarray(HEADER_WORDS * 4);
  if (magic !== MAGIC || frameWidth > MAX_SIDE_PX || frameHeight > MAX_SIDE_PX || crc32(packed) !== sum) return null;
  if (left + widthPx > frameWidth || top + heightPx > frameHeight || pixels + count > 2 * frameWidth * frameHeight) {
    return null;
  }
  const arrays = createArrays({ pixels, rows: heightPx, count, black: black === 1 });
  const body = await promisify(inflateRaw)(packed).catch(() => null);
  if (body?.length !== arrays.whole.buffer.byteLength) return null;
  new Uint8Array(arrays.whole.buffer).set(body);
  return {
    frame: { widthPx: frameWidth, heightPx: frameHeight },
    left,
    top,
    widthPx,
    heightPx,
    black: black === 1,
    ...arrays,
  };
}
