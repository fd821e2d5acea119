import { Problem } from '../core/problems.ts';

/**
 * Text out of bytes: UTF-8, with or without a byte order mark, or UTF-16 that begins with one. Anything else is refused,
 * since guessing an encoding makes wrong names that look right.
 * @param charset as the media type states it; null when it does not
 * @throws Problem `text-encoding`
 */
export function decodeText(bytes: Uint8Array, charset: string | null = null): string {
  const mark =
    bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : null;
  if (charset !== null && !/^(utf-?8|utf-?16(le|be)?|us-ascii)$/i.test(charset))
    throw refuse(`is sent as ${charset.slice(0, 40)}`);
  let text: string;
  try {
    text = new TextDecoder(mark ?? 'utf-8', { fatal: true }).decode(bytes);
  } catch (cause) {
    throw refuse(mark ? `begins as ${mark.toUpperCase()} and breaks off in the middle of it` : 'is not UTF-8', cause);
  }
  // UTF-16 without a mark reads as UTF-8 with zeros between the letters
  if (text.includes('\0')) throw refuse('has zero bytes in it, as UTF-16 without a byte order mark has');
  return text;
}

function refuse(what: string, cause?: unknown): Problem {
  return new Problem('text-encoding', {
    detail: `The file ${what}. Save it as UTF-8, or as UTF-16 with a byte order mark, and send it again.`,
    expected: ['UTF-8', 'UTF-16 with a byte order mark'],
    ...(cause !== undefined && { cause }),
  });
}
