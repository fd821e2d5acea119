import type { createRandom } from './random.ts';

// Changes valid JSON in ways that a parser, a schema or a store could fall over.

type Random = ReturnType<typeof createRandom>;
export type Json = unknown;

/** A key that `JSON.stringify` writes and that a parser must not take for a prototype. */
function withKey(target: object, key: string, value: Json): object {
  return Object.defineProperty({ ...target }, key, { value, enumerable: true, configurable: true, writable: true });
}

const nest = (depth: number, array: boolean): string =>
  (array ? '[' : '{"a":').repeat(depth) + 'null'.slice(array ? 4 : 0) + (array ? ']' : '}').repeat(depth);

/** Stands for text that is written as it is; see `write`. */
class Raw {
  readonly text: string;
  constructor(text: string) {
    this.text = text;
  }
}

const ODD_TEXTS = [
  '',
  ' ',
  '\u0000',
  'a\u0000b',
  '\ud800',
  '\udc00x',
  '\u202e\u2066',
  'e\u0301',
  '\r\nset-cookie: a=b',
  '<script>alert(1)</script>',
  '=1+1',
  '__proto__',
  'constructor',
  'hasOwnProperty',
  '../../etc/passwd',
  '%s%n',
  '{seat}{{}}{',
  'x'.repeat(20_000),
  '🪑'.repeat(200),
];
const ODD_NUMBERS = [0, -0, -1, 0.1, 1e-320, 1e308, -1e308, 2 ** 31, 2 ** 53 + 2, Number.MAX_VALUE, 255.5];

function oddValue(random: Random): Json {
  switch (random.whole(9)) {
    case 0:
      return random.pick(ODD_TEXTS);
    case 1:
      return random.pick(ODD_NUMBERS);
    case 2:
      return null;
    case 3:
      return random.next() < 0.5;
    case 4:
      return [];
    case 5:
      return {};
    case 6:
      return new Raw(nest(random.pick([5, 31, 40, 2000]), random.next() < 0.5));
    case 7:
      return new Raw(random.pick(['1e999', '-1e999', '1E-999', '123456789012345678901234567890']));
    default:
      return Array.from({ length: 1200 }, () => random.pick(ODD_TEXTS.slice(0, 12)));
  }
}

/** Changes one to three places. */
export function mutate(value: Json, random: Random): Json {
  let changed = value;
  for (let times = 1 + random.whole(3); times > 0; times--) changed = mutateOnce(changed, random);
  return changed;
}

function mutateOnce(value: Json, random: Random): Json {
  const isBranch = typeof value === 'object' && value !== null && !(value instanceof Raw);
  if (!isBranch || random.next() < 0.08) return oddValue(random);
  if (Array.isArray(value)) {
    if (value.length === 0 || random.next() < 0.2)
      return [...value, ...(random.next() < 0.5 ? value : [oddValue(random)])];
    const at = random.whole(value.length);
    return random.next() < 0.15 ? value.toSpliced(at, 1) : value.with(at, mutateOnce(value[at], random));
  }
  const keys = Object.keys(value);
  if (keys.length === 0 || random.next() < 0.2) return withKey(value, random.pick(ODD_KEYS), oddValue(random));
  const key = random.pick(keys);
  if (random.next() < 0.15) return Object.fromEntries(Object.entries(value).filter(([each]) => each !== key));
  return withKey(value, key, mutateOnce((value as Record<string, Json>)[key], random));
}

const ODD_KEYS = [
  '__proto__',
  'constructor',
  'prototype',
  'toString',
  '',
  ' ',
  '\u0000',
  '\ud800',
  'SEAT',
  'unknown',
  'k'.repeat(10_000),
];

/** JSON, with raw text where a value stands for it. */
export function write(value: Json): string {
  const raw: string[] = [];
  const text = JSON.stringify(value, (_, each: Json) =>
    each instanceof Raw ? `\u0001raw${raw.push(each.text) - 1}\u0001` : each,
  );
  return (text ?? 'null').replace(/"\\u0001raw(\d+)\\u0001"/g, (_, at: string) => raw[Number(at)]!);
}

/** Cuts it, adds a character to it, or puts a mark before it. */
export function damage(text: string, random: Random): string {
  const at = random.whole(text.length + 1);
  return random.pick([
    text.slice(0, at),
    text.slice(0, at) + random.pick(['\u0000', ',', '}', '"', '\\']) + text.slice(at),
    `\ufeff${text}`,
    '',
  ]);
}
