import type { IncomingHttpHeaders } from 'node:http';
import { type Author, checkAuthor } from '../core/history/history.ts';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';

const PERSON = 'dyeworks-person';
const NOTE = 'dyeworks-note';

/**
 * Who makes the call, as they state it. HTTP headers carry Latin letters only, so the text is percent-encoded UTF-8, as
 * `encodeURIComponent` writes it. Plain ASCII without a percent sign needs no encoding.
 * @throws Problem `invalid-field`, `invalid-name`, `name-too-long`
 */
export function readAuthor(headers: IncomingHttpHeaders): Author {
  return checkAuthor(decode(headers, PERSON), decode(headers, NOTE), { person: PERSON, note: NOTE });
}

function decode(headers: IncomingHttpHeaders, name: string): string | null {
  const value = headers[name];
  if (value === undefined) return null;
  const text = String(value);
  try {
    if (/^[\x20-\x7e]*$/.test(text)) return decodeURIComponent(text);
  } catch {
    // not a valid encoding: refused below
  }
  throw new Problem('invalid-field', {
    detail: REQUEST_PROBLEMS['invalid-field'].author(name),
    expected: 'percent-encoded UTF-8',
    received: text.slice(0, 80),
    where: name,
  });
}

/** The ETag in If-Match; null if the caller does not mind what it overwrites. */
export function readIfMatch(request: { readonly headers: IncomingHttpHeaders }): string | null {
  const header = request.headers['if-match'];
  if (header === undefined || header.trim() === '*') return null;
  return header.trim().replace(/^W\//, '').replace(/^"|"$/g, '');
}
