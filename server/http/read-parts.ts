import type { FileHandle } from 'node:fs/promises';
import type { PartedFile } from '../core/ports/models.ts';

/** Few calls, and little memory for each download. */
const CHUNK_BYTES = 512 * 1024;

/** Reads a part of a file that is in parts, chunk by chunk. @param end the byte after the last one */
export async function* readParts(
  { head, ranges, padding }: PartedFile,
  file: FileHandle,
  start: number,
  end: number,
): AsyncGenerator<Uint8Array> {
  let at = 0;
  /** The piece of a stretch of bytes that is asked for, counted from the stretch's start. */
  const take = (length: number) => {
    const from = Math.max(0, start - at);
    const to = Math.min(length, end - at);
    at += length;
    return { from, to };
  };
  const ofHead = take(head.length);
  if (ofHead.to > ofHead.from) yield head.subarray(ofHead.from, ofHead.to);
  for (const range of ranges) {
    const { from, to } = take(range.end - range.start);
    for (let done = from; done < to; ) {
      const buffer = Buffer.allocUnsafe(Math.min(CHUNK_BYTES, to - done));
      const { bytesRead } = await file.read(buffer, 0, buffer.length, range.start + done);
      if (bytesRead === 0) throw new Error('the delivered file is shorter than its JSON says');
      yield buffer.subarray(0, bytesRead);
      done += bytesRead;
    }
  }
  const ofPadding = take(padding);
  if (ofPadding.to > ofPadding.from) yield new Uint8Array(ofPadding.to - ofPadding.from);
}
