import type { IncomingHttpHeaders } from 'node:http';
import { type Author, checkAuthor } from '../core/history/history.ts';
import { Problem } from '../core/problems.ts';

const PERSON = 'dyeworks-person';
const NOTE = 'dyeworks-note';

/**
 * Who a call says it comes from. Headers carry no more than Latin letters, so that text is percent-encoded UTF-8, as
 * `encodeURIComponent` makes it; plain ASCII without a percent sign is its own encoding.
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
    // no encoding at all: refused below
  }
  throw new Problem('invalid-field', {
    detail: `The header ${name} is UTF-8, percent-encoded as in an address: “Åsa, 5 %” is sent as %C3%85sa%2C%205%20%25.`,
    expected: 'percent-encoded UTF-8',
    received: text.slice(0, 80),
    where: name,
  });
}
