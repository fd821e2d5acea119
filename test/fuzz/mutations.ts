import fc from 'fast-check';

/** One change of a JSON document: which place, which kind, and with what. Numbers choose by remainder. */
type JsonChange = readonly [place: number, kind: number, value: unknown, other: number];
/** One change of bytes: kind, place in millionths of the length, and a value. */
type ByteChange = readonly [kind: number, place: number, value: number];

export interface Mutation {
  /** Which of the known files is changed. */
  readonly source: number;
  readonly json: readonly JsonChange[];
  readonly bytes: readonly ByteChange[];
  /** How the result is packed. */
  readonly packing: number;
}

const INDICES = [-1, 0, 1, 2, 7, 255, 65_535, 1e9, 2 ** 31, 2 ** 32, 2 ** 53, 1e308, 0.5, -0];
const TEXTS = [
  '',
  '0',
  '__proto__',
  'constructor',
  'data:,',
  '../x',
  'http://x/y',
  '/nodes/0/scale',
  '\u0000',
  'ä'.repeat(999),
];
const OBJECTS = [null, [], {}, [null], [[]], { index: 0 }, { extensions: {} }, { extensions: null }, true, [1, 2, 3]];

/** Values that break rules of glTF in different ways, and any others. */
const oddValue = fc.oneof(
  { weight: 4, arbitrary: fc.constantFrom(...INDICES) },
  { weight: 3, arbitrary: fc.constantFrom<unknown>(...OBJECTS) },
  { weight: 2, arbitrary: fc.constantFrom(...TEXTS) },
  { weight: 2, arbitrary: fc.nat(40) },
  { weight: 1, arbitrary: fc.double({ noNaN: true }) },
  { weight: 1, arbitrary: fc.array(fc.float({ noNaN: true, noDefaultInfinity: true }), { maxLength: 17 }) },
  { weight: 1, arbitrary: fc.jsonValue({ maxDepth: 3 }) },
);

const byteChange: fc.Arbitrary<ByteChange> = fc.tuple(fc.nat(), fc.nat(999_999), fc.nat(0xffffffff));

/** Mutations of the known files; fast-check makes them, so a seed repeats them. */
export const mutations: fc.Arbitrary<Mutation> = fc.record({
  source: fc.nat(),
  json: fc.array(fc.tuple(fc.nat(), fc.nat(), oddValue, fc.nat()), { maxLength: 4, size: 'max' }),
  // most files keep their bytes, since nearly every changed byte of a container is refused at once
  bytes: fc.oneof(
    { weight: 3, arbitrary: fc.constant([]) },
    { weight: 2, arbitrary: fc.array(byteChange, { minLength: 1, maxLength: 3 }) },
  ),
  packing: fc.nat(),
});

type Holder = Record<string | number, unknown>;

/** Every place of a document, as the object that holds it and its key. */
function listPlaces(root: unknown): (readonly [holder: Holder, key: string | number])[] {
  const places: (readonly [Holder, string | number])[] = [];
  const open: unknown[] = [root];
  for (let at = 0; at < open.length && places.length < 20_000; at++) {
    const value = open[at];
    if (typeof value !== 'object' || value === null) continue;
    for (const [key, child] of Object.entries(value)) {
      places.push([value as Holder, key]);
      open.push(child);
    }
  }
  return places;
}

const KINDS = 7;

/** Changes a copy of a document: exchanges, removes, doubles, moves, swaps and shifts values. */
export function changeJson(document: unknown, changes: readonly JsonChange[]): unknown {
  const copy = structuredClone(document);
  for (const [place, kind, value, other] of changes) {
    const places = listPlaces(copy);
    if (places.length === 0) break;
    const [holder, key] = places[place % places.length]!;
    const [from, fromKey] = places[other % places.length]!;
    const old = holder[key];
    switch (kind % KINDS) {
      case 0:
        holder[key] = structuredClone(value);
        break;
      case 1:
        delete holder[key];
        break;
      case 2:
        // a list that is many times as long
        if (Array.isArray(old)) for (let i = 0; i < other % 300; i++) old.push(structuredClone(old[i % 7] ?? value));
        else holder[`${key}x`] = structuredClone(old);
        break;
      case 3:
        holder[key] = structuredClone(from[fromKey]);
        break;
      case 4:
        [holder[key], from[fromKey]] = [structuredClone(from[fromKey]), structuredClone(old)];
        break;
      case 5:
        holder[key] = typeof old === 'number' ? old + (other % 5) - 2 : structuredClone(value);
        break;
      default:
        if (typeof old === 'object' && old !== null) (old as Holder)[`x${other % 3}`] = structuredClone(value);
        else holder[key] = [old];
    }
  }
  return copy;
}

/** Changes a copy of bytes: flips, numbers of 32 bits, runs of one value, cuts, repeats and swaps. */
export function changeBytes(bytes: Uint8Array, changes: readonly ByteChange[]): Buffer {
  let copy = Buffer.from(bytes);
  for (const [kind, share, value] of changes) {
    if (copy.length < 8) break;
    const at = Math.floor((share / 1e6) * (copy.length - 4));
    const length = Math.min(copy.length - at, 1 + (value % 64));
    switch (kind % 6) {
      case 0:
        copy[at]! ^= 1 << (value % 8);
        break;
      case 1:
        copy.writeUInt32LE(value, at);
        break;
      case 2:
        copy.fill(value & 255, at, at + length);
        break;
      case 3:
        copy = copy.subarray(0, at);
        break;
      case 4:
        copy = Buffer.concat([copy.subarray(0, at + length), copy.subarray(at)]);
        break;
      default:
        copy.writeUInt32BE(INDICES[value % INDICES.length]! >>> 0, at);
    }
  }
  return copy;
}
