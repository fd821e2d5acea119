import { deflateSync } from 'node:zlib';
import { makeGlb } from './glb.ts';

/** JSON of one triangle: buffer 0 has three positions in 36 bytes. */
export function triangleJson(more: Record<string, unknown> = {}): Record<string, unknown> {
  return {
    asset: { version: '2.0' },
    scene: 0,
    scenes: [{ nodes: [0] }],
    nodes: [{ mesh: 0 }],
    materials: [{ name: 'Seat' }],
    meshes: [{ primitives: [{ attributes: { POSITION: 0 }, material: 0 }] }],
    accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3', min: [0, 0, 0], max: [1, 1, 0] }],
    bufferViews: [{ buffer: 0, byteLength: 36 }],
    buffers: [{ byteLength: 36 }],
    ...more,
  };
}

export const TRIANGLE_BIN = Buffer.from(new Float32Array([0, 0, 0, 1, 0, 0, 0, 1, 0]).buffer);

export function triangleGlb(more: Record<string, unknown> = {}): Buffer {
  return makeGlb(triangleJson(more), TRIANGLE_BIN);
}

/** The triangle as a self-contained .gltf, or with its buffer in a file of the given name. */
export function triangleGltf(uri = `data:application/octet-stream;base64,${TRIANGLE_BIN.toString('base64')}`): string {
  return JSON.stringify(triangleJson({ buffers: [{ byteLength: 36, uri }] }));
}

/** Writes a 32-bit number into a copy. */
export function patchUint32(bytes: Buffer, offset: number, value: number): Buffer {
  const copy = Buffer.from(bytes);
  copy.writeUInt32LE(value >>> 0, offset);
  return copy;
}

/** The PNG signature and a header with any size, without usable data after it (PNG 1.2, §11.2.2 IHDR). */
export function pngHeader(widthPx: number, heightPx: number): Buffer {
  const ihdr = Buffer.alloc(13);
  ihdr.writeUInt32BE(widthPx, 0);
  ihdr.writeUInt32BE(heightPx, 4);
  ihdr.set([8, 2, 0, 0, 0], 8);
  const chunk = (type: string, data: Buffer) => {
    const body = Buffer.concat([Buffer.from(type, 'latin1'), data]);
    const head = Buffer.alloc(4);
    head.writeUInt32BE(data.length, 0);
    const crc = Buffer.alloc(4);
    crc.writeUInt32BE(crc32(body), 0);
    return Buffer.concat([head, body, crc]);
  };
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', ihdr),
    chunk('IDAT', deflateSync(Buffer.alloc(16))),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

function crc32(bytes: Buffer): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return (crc ^ 0xffffffff) >>> 0;
}

/** A GLB with an image of the given bytes; its only material shows it. */
export function glbWithImage(image: Uint8Array): Buffer {
  const length = 36 + image.length;
  const json = triangleJson({
    materials: [{ name: 'Seat', pbrMetallicRoughness: { baseColorTexture: { index: 0 } } }],
    textures: [{ source: 0 }],
    images: [{ bufferView: 1, mimeType: 'image/png' }],
    bufferViews: [
      { buffer: 0, byteLength: 36 },
      { buffer: 0, byteOffset: 36, byteLength: image.length },
    ],
    buffers: [{ byteLength: length }],
  });
  return makeGlb(json, Buffer.concat([TRIANGLE_BIN, image]));
}
