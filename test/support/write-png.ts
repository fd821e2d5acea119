import { crc32, deflateSync } from 'node:zlib';

/** Colour types of PNG (third edition, table 9). */
const PNG_TYPES = { grey: 0, rgb: 2, palette: 3, greyAlpha: 4, rgba: 6 } as const;

const SAMPLES = { grey: 1, rgb: 3, palette: 1, greyAlpha: 2, rgba: 4 } as const;

export interface PngParts {
  readonly type: keyof typeof PNG_TYPES;
  readonly bits: 8 | 16;
  /** Samples, row by row, as in the file. */
  readonly codes: readonly number[];
  readonly widthPx: number;
  /** Chunks between header and data, such as `tRNS`. */
  readonly chunks?: Readonly<Record<string, Uint8Array | readonly number[]>>;
  /** ICC profile. */
  readonly icc?: Uint8Array;
}

/** A PNG with exactly these samples and chunks, written by hand: libraries would change them. */
export function writePng({ type, bits, codes, widthPx, chunks = {}, icc }: PngParts): Buffer {
  const perRow = widthPx * SAMPLES[type];
  const header = Buffer.alloc(13);
  header.writeUInt32BE(widthPx);
  header.writeUInt32BE(codes.length / perRow, 4);
  header.set([bits, PNG_TYPES[type]], 8);
  const rows: number[] = [];
  codes.forEach((code, i) => {
    if (i % perRow === 0) rows.push(0);
    if (bits === 16) rows.push(code >> 8);
    rows.push(code & 255);
  });
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    writeChunk('IHDR', header),
    // name “icc”, its end, and method 0 (PNG, third edition, §11.3.2.3)
    ...(icc ? [writeChunk('iCCP', Buffer.concat([Buffer.from('icc\0\0', 'latin1'), deflateSync(icc)]))] : []),
    ...Object.entries(chunks).map(([name, data]) => writeChunk(name, Buffer.from(data))),
    writeChunk('IDAT', deflateSync(Buffer.from(rows))),
    writeChunk('IEND', Buffer.alloc(0)),
  ]);
}

/** Bytes of 16-bit numbers, as in `tRNS`. */
export const words = (...values: readonly number[]) => values.flatMap((value) => [value >> 8, value & 255]);

function writeChunk(name: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
  length.writeUInt32BE(data.length);
  check.writeUInt32BE(crc32(body));
  return Buffer.concat([length, body, check]);
}
