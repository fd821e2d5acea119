import { crc32 } from 'node:zlib';

const SIGNATURE_BYTES = 8;
/** Length, type and CRC, which every chunk has around its data. */
const FRAME_BYTES = 12;

/**
 * What is wrong with the chunks of a PNG: one that is cut, bytes that are no chunk, a CRC that does not agree (PNG, third
 * edition, §5.3 and §13.2), or no last chunk, which the image library passes over and a browser does not. Null for none.
 * @param which `critical` passes over the CRC of ancillary chunks, as viewers do: they leave such a chunk out
 */
export function findPngFault(bytes: Uint8Array, which: 'critical' | 'all'): string | null {
  const file = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = SIGNATURE_BYTES; at + FRAME_BYTES <= file.length; ) {
    const length = file.readUInt32BE(at);
    const type = file.toString('latin1', at + 4, at + 8);
    const end = at + FRAME_BYTES + length;
    if (!/^[A-Za-z]{4}$/.test(type)) return 'it has bytes between its chunks';
    if (end > file.length) return `its ${type} chunk is cut`;
    // an upper-case first letter says that no image can be made without the chunk
    if (which === 'all' || type[0]! < 'a') {
      const stated = file.readUInt32BE(end - 4);
      if (crc32(file.subarray(at + 4, end - 4)) !== stated) return `the CRC of its ${type} chunk does not agree`;
    }
    if (type === 'IEND') return null;
    at = end;
  }
  return 'it ends before its last chunk';
}
