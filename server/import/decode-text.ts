import { Problem } from '../core/problems.ts';
import { IMPORT_PROBLEMS } from '../core/texts/problems/import.ts';

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
    throw refuse(TEXTS.statedOtherwise(charset.slice(0, 40)));
  let text: string;
  try {
    text = new TextDecoder(mark ?? 'utf-8', { fatal: true }).decode(bytes);
  } catch (cause) {
    throw refuse(mark ? TEXTS.brokenUtf16(mark.toUpperCase()) : TEXTS.notUtf8, cause);
  }
  // UTF-16 without a mark reads as UTF-8 with zeros between the letters
  if (text.includes('\0')) throw refuse(TEXTS.zeroBytes);
  return text;
}

const TEXTS = IMPORT_PROBLEMS['text-encoding'];

function refuse(detail: string, cause?: unknown): Problem {
  return new Problem('text-encoding', {
    detail,
    expected: ['UTF-8', 'UTF-16 with a byte order mark'],
    ...(cause !== undefined && { cause }),
  });
}
