/** A file for a zip: its length and CRC-32 are known before its bytes are read. */
export interface StoredEntry {
  /** Path in the archive, with `/`. */
  readonly name: string;
  readonly bytes: number;
  readonly crc32: number;
  readonly open: () => AsyncIterable<Uint8Array> | Iterable<Uint8Array>;
}

/** The most that the short fields can state; longer ones stand in Zip64 fields (APPNOTE 6.3.10, 4.3.9.2 and 4.5.3). */
const LONG = 0xffffffff;
const MOST_ENTRIES = 0xffff;
/** Versions needed: 2.0, and 4.5 for Zip64 (4.4.3). */
const SHORT_VERSION = 20;
const LONG_VERSION = 45;
/** Made on Unix, for the file mode in the external attributes (4.4.2). */
const MADE_BY = (3 << 8) | LONG_VERSION;
const MODE = ((0o100644 << 16) >>> 0) as number;
/** Names are UTF-8 (appendix D). */
const FLAGS = 0x0800;
/** 1 January 1980, 0:00, the first that a zip can state: the same files give the same bytes. */
const DATE = (1 << 5) | 1;

/**
 * Writes a zip of stored files (method 0) as a stream, with the same bytes for the same files. Lengths and checksums stand before each
 * file, so a reader needs no seeking. The library that zips pictures takes twenty times as long as reading a file, since it computes
 * checksums in JavaScript; here they come from a thread.
 * @throws Error if a file has another length than its entry says
 */
export async function* writeStoredZip(entries: AsyncIterable<StoredEntry>): AsyncGenerator<Uint8Array> {
  const directory: Buffer[] = [];
  let at = 0;
  for await (const entry of entries) {
    const name = Buffer.from(entry.name, 'utf8');
    const header = makeLocalHeader(entry, name);
    directory.push(makeDirectoryEntry(entry, name, at));
    yield header;
    let sent = 0;
    for await (const chunk of entry.open()) {
      sent += chunk.length;
      yield chunk;
    }
    if (sent !== entry.bytes) throw new Error(`${entry.name} has ${sent} bytes instead of ${entry.bytes}`);
    at += header.length + sent;
  }
  const length = directory.reduce((sum, { length: bytes }) => sum + bytes, 0);
  for (const one of directory) yield one;
  yield makeEnd(directory.length, length, at);
}

function makeLocalHeader({ bytes, crc32 }: StoredEntry, name: Buffer): Buffer {
  const isLong = bytes >= LONG;
  const extra = isLong ? makeExtra([bytes, bytes]) : Buffer.alloc(0);
  const header = Buffer.alloc(30);
  header.writeUInt32LE(0x04034b50, 0);
  header.writeUInt16LE(isLong ? LONG_VERSION : SHORT_VERSION, 4);
  writeFacts(header, 6, crc32, isLong ? LONG : bytes);
  header.writeUInt16LE(name.length, 26);
  header.writeUInt16LE(extra.length, 28);
  return Buffer.concat([header, name, extra]);
}

function makeDirectoryEntry({ bytes, crc32 }: StoredEntry, name: Buffer, offset: number): Buffer {
  const long = [...(bytes >= LONG ? [bytes, bytes] : []), ...(offset >= LONG ? [offset] : [])];
  const extra = long.length > 0 ? makeExtra(long) : Buffer.alloc(0);
  const header = Buffer.alloc(46);
  header.writeUInt32LE(0x02014b50, 0);
  header.writeUInt16LE(MADE_BY, 4);
  header.writeUInt16LE(long.length > 0 ? LONG_VERSION : SHORT_VERSION, 6);
  writeFacts(header, 8, crc32, Math.min(bytes, LONG));
  header.writeUInt16LE(name.length, 28);
  header.writeUInt16LE(extra.length, 30);
  header.writeUInt32LE(MODE, 38);
  header.writeUInt32LE(Math.min(offset, LONG), 42);
  return Buffer.concat([header, name, extra]);
}

/** Flags, method 0, time, date, checksum and the two lengths, which both headers have in this order. */
function writeFacts(header: Buffer, at: number, crc32: number, bytes: number): void {
  header.writeUInt16LE(FLAGS, at);
  header.writeUInt16LE(DATE, at + 6);
  header.writeUInt32LE(crc32, at + 8);
  header.writeUInt32LE(bytes, at + 12);
  header.writeUInt32LE(bytes, at + 16);
}

/** The Zip64 field with the numbers that the short fields cannot state. */
function makeExtra(numbers: readonly number[]): Buffer {
  const extra = Buffer.alloc(4 + numbers.length * 8);
  extra.writeUInt16LE(1, 0);
  extra.writeUInt16LE(numbers.length * 8, 2);
  numbers.forEach((number, index) => {
    extra.writeBigUInt64LE(BigInt(number), 4 + index * 8);
  });
  return extra;
}

function makeEnd(entries: number, length: number, offset: number): Buffer {
  const isLong = entries >= MOST_ENTRIES || length >= LONG || offset >= LONG;
  const long = Buffer.alloc(isLong ? 76 : 0);
  if (isLong) {
    long.writeUInt32LE(0x06064b50, 0);
    long.writeBigUInt64LE(44n, 4);
    long.writeUInt16LE(MADE_BY, 12);
    long.writeUInt16LE(LONG_VERSION, 14);
    long.writeBigUInt64LE(BigInt(entries), 24);
    long.writeBigUInt64LE(BigInt(entries), 32);
    long.writeBigUInt64LE(BigInt(length), 40);
    long.writeBigUInt64LE(BigInt(offset), 48);
    long.writeUInt32LE(0x07064b50, 56);
    long.writeBigUInt64LE(BigInt(offset + length), 64);
    long.writeUInt32LE(1, 72);
  }
  const end = Buffer.alloc(22);
  end.writeUInt32LE(0x06054b50, 0);
  end.writeUInt16LE(Math.min(entries, MOST_ENTRIES), 8);
  end.writeUInt16LE(Math.min(entries, MOST_ENTRIES), 10);
  end.writeUInt32LE(Math.min(length, LONG), 12);
  end.writeUInt32LE(Math.min(offset, LONG), 16);
  return Buffer.concat([long, end]);
}
