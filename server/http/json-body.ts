import type { FastifyInstance, FastifyRequest } from 'fastify';
import { inTurns } from '../actions/in-turns.ts';
import { Problem } from '../core/problems.ts';
import { finish, type Sliced } from '../core/slices.ts';
import { REQUEST_PROBLEMS } from '../core/texts/problems/request.ts';

/** Objects and lists inside each other. The deepest call of Dyeworks has eight; parsers and checks call themselves for each. */
const DEPTH_LIMIT = 32;

/**
 * Objects, lists and list entries of a body. A schedule of twenty thousand rows of ten slots has 300,000. Millions of empty
 * lists in few megabytes would take half a second to read.
 */
const VALUES_LIMIT = 1_000_000;

/** The same within one entry of a list, and outside long lists, which are parsed in one go: a repair of 100,000 pieces has half. */
const ENTRY_VALUES_LIMIT = 200_000;

const OPEN = new Uint8Array(256);
const CLOSE = new Uint8Array(256);
for (const character of '[{') OPEN[character.charCodeAt(0)] = 1;
for (const character of ']}') CLOSE[character.charCodeAt(0)] = 1;
const QUOTE = 0x22;
const BACKSLASH = 0x5c;
const COMMA = 0x2c;
const OPEN_LIST = 0x5b;
const OPEN_OBJECT = 0x7b;

/** Bytes that are counted or parsed in one go: some milliseconds. */
const AT_ONCE = 128 * 1024;

type ParseText = (text: string) => unknown;

/** Reads bodies as JSON: their form is counted before they are parsed, and keys that reach for a prototype are refused. */
export function readJsonBodies(app: FastifyInstance): void {
  const parse = app.getDefaultJsonParser('error', 'error');
  app.removeContentTypeParser('application/json');
  app.addContentTypeParser<Buffer>(
    'application/json',
    { parseAs: 'buffer' },
    async (request: FastifyRequest, bytes: Buffer) => {
      // it calls back before it returns
      const parseText: ParseText = (text) => {
        let value: unknown;
        parse(request, text, (error, body) => {
          if (error) throw error;
          value = body;
        });
        return value;
      };
      return inTurns(readJson(bytes, parseText));
    },
  );
}

/**
 * Reads a JSON text in slices: counts its form first, and parses the long lists of its fields part by part.
 * @param parse throws for a text that is not JSON
 * @param atOnce see `AT_ONCE`; for tests
 * @throws Problem `json-too-complex`
 */
export function* readJson(bytes: Buffer, parse: ParseText, atOnce = AT_ONCE): Sliced<unknown> {
  const lists: LongList[] = [];
  yield* scan(bytes, DEPTH_LIMIT, VALUES_LIMIT, atOnce, lists);
  if (lists.length === 0) return parse(bytes.toString('utf8'));
  const read: { readonly key: string; readonly entries: unknown[] }[] = [];
  const around: string[] = [];
  let from = 0;
  for (const { key, start, cuts, end } of lists) {
    around.push(bytes.toString('utf8', from, start));
    from = end;
    const entries: unknown[] = [];
    let part = start;
    for (const cut of [...cuts, end]) {
      yield;
      const text = bytes.toString('utf8', part, cut);
      // between two commas there is an entry
      const some = parse(`[${text}]`) as unknown[];
      if (some.length === 0) parse('');
      for (const entry of some) entries.push(entry);
      part = cut + 1;
    }
    read.push({ key: parse(key) as string, entries });
  }
  around.push(bytes.toString('utf8', from));
  // each long list is empty here
  const body = parse(around.join('')) as Record<string, unknown>;
  for (const { key, entries } of read) body[key] = entries;
  return body;
}

/** A list with more bytes than are parsed in one go, which is a field of the whole. All places are bytes. */
interface LongList {
  /** The name of the field, with its quotes. */
  readonly key: string;
  readonly start: number;
  /** Commas between its entries, each at least so many bytes after the one before. */
  readonly cuts: readonly number[];
  readonly end: number;
}

/**
 * Counts depth and values of a JSON text, in one pass over its bytes. Bytes in strings do not count. UTF-8 never uses the bytes
 * of the signs of JSON for anything else.
 * @throws Problem `json-too-complex`
 */
export function refuseExcess(bytes: Uint8Array, depthLimit = DEPTH_LIMIT, valuesLimit = VALUES_LIMIT): void {
  finish(scan(bytes, depthLimit, valuesLimit, Number.POSITIVE_INFINITY, []));
}

/** @param lists receives the long lists among the fields of the whole, in order */
function* scan(
  bytes: Uint8Array,
  depthLimit: number,
  valuesLimit: number,
  atOnce: number,
  lists: LongList[],
): Sliced<void> {
  let depth = 0;
  let values = 0;
  /** Values before this entry. */
  let before = 0;
  let isObject = false;
  let pause = atOnce;
  /** The last text at the first level, which is the key of the field that opens next. */
  let key = { from: 0, to: 0 };
  let list: { key: string; start: number; cuts: number[] } | null = null;
  for (let at = 0; at < bytes.length; at++) {
    const byte = bytes[at]!;
    if (byte === QUOTE) {
      const from = at;
      for (at++; at < bytes.length && bytes[at] !== QUOTE; at++) if (bytes[at] === BACKSLASH) at++;
      if (depth === 1) key = { from, to: at + 1 };
    } else if (OPEN[byte] === 1) {
      values++;
      if (++depth > depthLimit) throw tooComplex('depth', depthLimit, at);
      if (depth === 1) isObject = byte === OPEN_OBJECT;
      if (depth === 2 && byte === OPEN_LIST && isObject) {
        const name = Buffer.from(bytes.buffer, bytes.byteOffset + key.from, key.to - key.from).toString('utf8');
        list = { key: name, start: at + 1, cuts: [] };
      }
    } else if (CLOSE[byte] === 1) {
      if (depth === 2 && list) {
        if (list.cuts.length > 0) lists.push({ ...list, end: at });
        list = null;
      }
      depth--;
    } else if (byte === COMMA) {
      values++;
      if (depth === 2 && list) {
        before = values;
        if (at - (list.cuts.at(-1) ?? list.start) >= atOnce) list.cuts.push(at);
      }
    }
    if (values > valuesLimit) throw tooComplex('values', valuesLimit, at);
    if (values - before > ENTRY_VALUES_LIMIT) throw tooComplex('values', ENTRY_VALUES_LIMIT, at);
    if (at >= pause) {
      pause = at + atOnce * SCAN_FACTOR;
      yield;
    }
  }
}

/** Counting is faster than parsing. */
const SCAN_FACTOR = 8;

function tooComplex(what: 'depth' | 'values', limit: number, at: number): Problem {
  return new Problem('json-too-complex', {
    detail: REQUEST_PROBLEMS['json-too-complex'][what](limit),
    expected: limit,
    where: `byte ${at}`,
  });
}
