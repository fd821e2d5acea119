import type { FastifyInstance } from 'fastify';
import { Problem } from '../core/problems.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';

/** Objects and lists inside each other. The deepest call of Dyeworks has eight; parsers and checks call themselves for each. */
const DEPTH_LIMIT = 32;

/**
 * Objects, lists and list entries of a body. A schedule of twenty thousand rows of ten slots has 300,000. Millions of empty
 * lists in few megabytes would take half a second to read.
 */
const VALUES_LIMIT = 1_000_000;

const OPEN = new Uint8Array(256);
const CLOSE = new Uint8Array(256);
for (const character of '[{') OPEN[character.charCodeAt(0)] = 1;
for (const character of ']}') CLOSE[character.charCodeAt(0)] = 1;
const QUOTE = 0x22;
const BACKSLASH = 0x5c;
const COMMA = 0x2c;

/** Reads bodies as JSON: their form is counted before they are parsed, and keys that reach for a prototype are refused. */
export function readJsonBodies(app: FastifyInstance): void {
  const parse = app.getDefaultJsonParser('error', 'error');
  app.removeContentTypeParser('application/json');
  app.addContentTypeParser<Buffer>('application/json', { parseAs: 'buffer' }, (request, bytes, done) => {
    try {
      refuseExcess(bytes);
    } catch (error) {
      return done(error as Error);
    }
    return parse(request, bytes.toString('utf8'), done);
  });
}

/**
 * Counts depth and values of a JSON text, in one pass over its bytes. Bytes in strings do not count. UTF-8 never uses the bytes
 * of the signs of JSON for anything else.
 * @throws Problem `json-too-complex`
 */
export function refuseExcess(bytes: Uint8Array, depthLimit = DEPTH_LIMIT, valuesLimit = VALUES_LIMIT): void {
  let depth = 0;
  let values = 0;
  for (let at = 0; at < bytes.length; at++) {
    const byte = bytes[at]!;
    if (byte === QUOTE) {
      for (at++; at < bytes.length && bytes[at] !== QUOTE; at++) if (bytes[at] === BACKSLASH) at++;
    } else if (OPEN[byte] === 1) {
      values++;
      if (++depth > depthLimit) throw tooComplex('depth', depthLimit, at);
    } else if (CLOSE[byte] === 1) depth--;
    else if (byte === COMMA) values++;
    if (values > valuesLimit) throw tooComplex('values', valuesLimit, at);
  }
}

function tooComplex(what: 'depth' | 'values', limit: number, at: number): Problem {
  return new Problem('json-too-complex', {
    detail: REQUEST_PROBLEMS['json-too-complex'][what](limit),
    expected: limit,
    where: `byte ${at}`,
  });
}
