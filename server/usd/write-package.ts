import { createHash } from 'node:crypto';
import { closeSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs';
import { crc32 } from 'node:zlib';

/** The data of each file begins at a multiple of this many bytes, so that viewers can map it into memory. */
const ALIGNMENT = 64;
const LOCAL_BYTES = 30;
/** An extra field has four bytes of its own. The number is the one that OpenUSD writes; readers skip it. */
const EXTRA = { id: 0x1986, headBytes: 4 } as const;
/** 1 January 1980, the first date of a zip, so that the same files give the same bytes. */
const DATE = 0x0021;
/** A package has no Zip64, so offsets and lengths end before 4 GiB. */
const MOST_BYTES = 0xffff_ffff;

/** A file of the package. */
interface Entry {
  readonly name: string;
  readonly offset: number;
  readonly extraBytes: number;
  readonly bytes: number;
  readonly crc: number;
}

/** Thrown when a package would be larger than its format allows. */
export class PackageTooLarge extends Error {}

/**
 * Writes a USDZ package (OpenUSD, "Usdz file format specification"): a zip without compression, encryption and Zip64, the data of
 * each file at a multiple of 64 bytes, and the default layer first. The same files give the same bytes. Works in the thread that
 * calls it, file by file, and needs no memory for a whole file.
 */
export class PackageWriter {
  readonly #file: number;
  readonly #path: string;
  readonly #entries: Entry[] = [];
  readonly #limit: number;
  #at = 0;

  /** @param limit most bytes of the package, for tests */
  constructor(path: string, limit = MOST_BYTES) {
    this.#path = path;
    this.#limit = limit;
    this.#file = openSync(path, 'w');
  }

  /**
   * Adds a file.
   * @param name path in the package: ASCII, with `/`
   * @throws PackageTooLarge
   */
  add(name: string, chunks: Iterable<string | Uint8Array>): void {
    const offset = this.#at;
    const plain = offset + LOCAL_BYTES + name.length;
    let extraBytes = (ALIGNMENT - (plain % ALIGNMENT)) % ALIGNMENT;
    if (extraBytes > 0 && extraBytes < EXTRA.headBytes) extraBytes += ALIGNMENT;
    const start = plain + extraBytes;
    this.#at = start;
    let crc = 0;
    for (const data of gather(chunks)) {
      crc = crc32(data, crc);
      this.#write(data);
    }
    const entry = { name, offset, extraBytes, bytes: this.#at - start, crc };
    this.#entries.push(entry);
    // digest and length are known only now
    const header = Buffer.alloc(start - offset);
    header.writeUInt32LE(0x04034b50, 0);
    writeFacts(header, 4, entry);
    header.write(name, LOCAL_BYTES, 'latin1');
    if (extraBytes > 0) {
      header.writeUInt16LE(EXTRA.id, LOCAL_BYTES + name.length);
      header.writeUInt16LE(extraBytes - EXTRA.headBytes, LOCAL_BYTES + name.length + 2);
    }
    writeAll(this.#file, header, offset);
  }

  /** Writes the directory, and syncs the file. @returns digest and length of the package */
  finish(): { readonly sha256: string; readonly bytes: number } {
    const start = this.#at;
    for (const entry of this.#entries) {
      const record = Buffer.alloc(46 + entry.name.length);
      record.writeUInt32LE(0x02014b50, 0);
      record.writeUInt16LE(VERSION, 4);
      writeFacts(record, 6, entry);
      record.writeUInt16LE(0, 30); // no extra field here: it only pads the data
      record.writeUInt32LE(entry.offset, 42);
      record.write(entry.name, 46, 'latin1');
      this.#write(record);
    }
    const end = Buffer.alloc(22);
    end.writeUInt32LE(0x06054b50, 0);
    end.writeUInt16LE(this.#entries.length, 8);
    end.writeUInt16LE(this.#entries.length, 10);
    end.writeUInt32LE(this.#at - start, 12);
    end.writeUInt32LE(start, 16);
    this.#write(end);
    fsyncSync(this.#file);
    closeSync(this.#file);
    return { sha256: digestFile(this.#path), bytes: this.#at };
  }

  /** Closes the file after a failure; its owner deletes it. */
  abandon(): void {
    try {
      closeSync(this.#file);
    } catch {
      // it is closed already
    }
  }

  #write(data: Uint8Array): void {
    if (this.#at + data.length > this.#limit) throw new PackageTooLarge();
    writeAll(this.#file, data, this.#at);
    this.#at += data.length;
  }
}

/** Version 1.0 of the zip format is enough for stored files. */
const VERSION = 10;

/** The fields that local header and directory share, from the version that a reader needs on. */
function writeFacts(target: Buffer, at: number, { name, extraBytes, bytes, crc }: Entry): void {
  target.writeUInt16LE(VERSION, at);
  // no flags, no compression, no time of day
  target.writeUInt16LE(DATE, at + 8);
  target.writeUInt32LE(crc, at + 10);
  target.writeUInt32LE(bytes, at + 14);
  target.writeUInt32LE(bytes, at + 18);
  target.writeUInt16LE(name.length, at + 22);
  target.writeUInt16LE(extraBytes, at + 24);
}

/** Longer chunks need more memory, and shorter ones more calls. */
const WRITE_BYTES = 1 << 20;

/** Joins short texts, so that each write is worth its call. */
function* gather(chunks: Iterable<string | Uint8Array>): Generator<Uint8Array> {
  let held: string[] = [];
  let letters = 0;
  const flush = () => {
    const data = Buffer.from(held.join(''));
    held = [];
    letters = 0;
    return data;
  };
  for (const chunk of chunks) {
    if (typeof chunk === 'string') {
      held.push(chunk);
      letters += chunk.length;
      if (letters >= WRITE_BYTES) yield flush();
      continue;
    }
    if (letters > 0) yield flush();
    yield chunk;
  }
  if (letters > 0) yield flush();
}

function writeAll(file: number, data: Uint8Array, at: number): void {
  for (let done = 0; done < data.length; ) done += writeSync(file, data, done, data.length - done, at + done);
}

function digestFile(path: string): string {
  const file = openSync(path, 'r');
  try {
    const hash = createHash('sha256');
    const buffer = Buffer.alloc(WRITE_BYTES);
    for (let read = readSync(file, buffer); read > 0; read = readSync(file, buffer))
      hash.update(buffer.subarray(0, read));
    return hash.digest('hex');
  } finally {
    closeSync(file);
  }
}
