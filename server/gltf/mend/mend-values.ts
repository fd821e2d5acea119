import type { Damage, DamageCode } from '../../core/product/survey.ts';
import { describePlace, describeValue, EXPECTED } from '../../core/texts/damage-texts.ts';
import { type GltfJson, readName } from '../document/json.ts';
import type { ObjectSchema, Schema, Target } from './gltf-schema.ts';

/** The path of a property in a document. */
type Place = readonly (string | number)[];

export type JsonObject = Record<string, unknown>;

/** Stands for a value that is removed. */
const REMOVED = Symbol('removed');

/** Largest number of single precision (IEEE 754 binary32), in which glTF's numbers are read. */
const LARGEST = 3.4028234663852886e38;

/** Corrects values by their schemas and notes every change. A right value is returned itself, not a copy. */
export class Mender {
  readonly damages: Damage[] = [];

  /**
   * @param json the document as it was read, for the names of objects
   * @param isThere whether an index points at a usable object
   */
  constructor(
    private readonly json: GltfJson,
    private readonly isThere: (target: Target, index: number) => boolean,
  ) {}

  /** Corrects an object of an array. The object keeps its index, whatever is removed from it. */
  mendObject(value: JsonObject, schema: ObjectSchema, at: Place): JsonObject {
    const mended = this.#mendFields(value, schema, at);
    return mended === REMOVED ? value : (mended as JsonObject);
  }

  note(code: DamageCode, at: Place, seen: unknown, expected: string, used: unknown = undefined): void {
    this.damages.push({
      code,
      ...describePlace(at, nameAt(this.json, at)),
      where: `/${at.join('/')}`,
      seen: describeValue(seen),
      expected,
      used: used === undefined ? null : describeValue(used),
    });
  }

  #mend(value: unknown, schema: Schema, at: Place): unknown {
    switch (schema.is) {
      case 'object':
        return isObject(value) ? this.#mendFields(value, schema, at) : this.#remove(value, schema, at);
      case 'list':
        return Array.isArray(value) ? this.#mendList(value, schema, at) : this.#remove(value, schema, at);
      case 'map':
        return isObject(value) ? this.#mendMap(value, schema, at) : this.#remove(value, schema, at);
      case 'index': {
        const index = toNumber(value);
        if (index === null || !Number.isInteger(index) || index < 0) return this.#remove(value, schema, at);
        if (!this.isThere(schema.of, index)) {
          this.note('dangling-reference', at, value, describeSchema(schema));
          return REMOVED;
        }
        return this.#settle(value, index, schema, at);
      }
      case 'numbers':
        return this.#mendNumbers(value, schema, at);
      default:
        return this.#mendPlain(value, schema, at);
    }
  }

  #mendPlain(value: unknown, schema: Schema, at: Place): unknown {
    const mended = readPlain(value, schema);
    return mended === REMOVED ? this.#remove(value, schema, at) : this.#settle(value, mended, schema, at);
  }

  #mendNumbers(value: unknown, schema: Extract<Schema, { is: 'numbers' }>, at: Place): unknown {
    const { length, min, max } = schema;
    if (!Array.isArray(value) || value.length !== (length ?? value.length)) return this.#remove(value, schema, at);
    const mended = value.map((item) => readNumber(item, { min, max }));
    if (mended.includes(REMOVED)) return this.#remove(value, schema, at);
    if (mended.every((item, i) => item === value[i])) return value;
    return this.#settle(value, mended, schema, at);
  }

  #mendFields(value: JsonObject, schema: ObjectSchema, at: Place): JsonObject | typeof REMOVED {
    const absent = schema.needs?.find((key) => value[key] === undefined || value[key] === null);
    if (absent !== undefined) {
      this.note('damaged-value', at, value, EXPECTED.objectWith(absent));
      return REMOVED;
    }
    let mended = value;
    const change = (key: string, to: unknown) => {
      if (mended === value) mended = { ...value };
      if (to === REMOVED) delete mended[key];
      else mended[key] = to;
    };
    for (const [key, field] of Object.entries(value)) {
      const own = Object.hasOwn(schema.fields, key) ? schema.fields[key] : undefined;
      if (field === null && key !== 'extras') {
        this.note('damaged-value', [...at, key], null, own ? describeSchema(own) : EXPECTED.value);
        change(key, REMOVED);
      } else if (key === 'extensions') {
        const extensions = this.#mendExtensions(field, schema, [...at, key]);
        if (extensions !== field) change(key, extensions);
      } else if (own) {
        const to = this.#mend(field, own, [...at, key]);
        if (to !== field) change(key, to);
      }
    }
    return schema.needs?.some((key) => mended[key] === undefined) ? REMOVED : mended;
  }

  #mendExtensions(value: unknown, { extensions: known = {} }: ObjectSchema, at: Place): unknown {
    if (!isObject(value)) return this.#remove(value, { is: 'object', fields: {} }, at);
    let mended = value;
    for (const [name, extension] of Object.entries(value)) {
      if (!Object.hasOwn(known, name)) continue;
      const to = this.#mend(extension, known[name]!, [...at, name]);
      if (to === extension) continue;
      if (mended === value) mended = { ...value };
      if (to === REMOVED) delete mended[name];
      else mended[name] = to;
    }
    return mended !== value && Object.keys(mended).length === 0 ? REMOVED : mended;
  }

  #mendList(value: readonly unknown[], schema: Extract<Schema, { is: 'list' }>, at: Place): unknown {
    const { of, filled, keeps } = schema;
    const mended = value.map((item, i) => {
      const to = this.#mend(item, of, [...at, i]);
      return to === REMOVED && keeps ? item : to;
    });
    if (mended.every((item, i) => item === value[i])) return value;
    const left = mended.filter((item) => item !== REMOVED);
    return filled && left.length === 0 ? REMOVED : left;
  }

  #mendMap(value: JsonObject, { of }: Extract<Schema, { is: 'map' }>, at: Place): unknown {
    const mended = Object.entries(value).map(([key, item]) => [key, this.#mend(item, of, [...at, key])] as const);
    const left = mended.filter(([, item]) => item !== REMOVED);
    if (left.length === 0) return REMOVED;
    return mended.every(([key, item]) => item === value[key]) ? value : Object.fromEntries(left);
  }

  #settle(value: unknown, mended: unknown, schema: Schema, at: Place): unknown {
    if (mended !== value) this.note('damaged-value', at, value, describeSchema(schema), mended);
    return mended;
  }

  #remove(value: unknown, schema: Schema, at: Place): typeof REMOVED {
    this.note('damaged-value', at, value, describeSchema(schema));
    return REMOVED;
  }
}

function readPlain(value: unknown, schema: Schema): unknown {
  switch (schema.is) {
    case 'number':
      return readNumber(value, schema);
    case 'whole': {
      const number = toNumber(value);
      return number !== null && Number.isSafeInteger(number) && number >= 0 ? number : REMOVED;
    }
    case 'flag':
      return typeof value === 'boolean' ? value : REMOVED;
    case 'text':
      return typeof value === 'string' ? value : REMOVED;
    case 'choice':
      return schema.of.includes(value as never) ? value : REMOVED;
    default:
      return REMOVED;
  }
}

interface Range {
  readonly min?: number | undefined;
  readonly max?: number | undefined;
  readonly above?: number;
  readonly or?: number;
}

function readNumber(value: unknown, { min = -LARGEST, max = LARGEST, above, or }: Range): number | typeof REMOVED {
  const number = toNumber(value);
  if (number === null || Math.abs(number) > LARGEST) return REMOVED;
  if (number === or) return number;
  if (above !== undefined && number <= above) return REMOVED;
  return Math.min(Math.max(number, min), max);
}

const DECIMAL = /^\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?\s*$/i;

/** A number, or one that is written as text. */
function toNumber(value: unknown): number | null {
  if (typeof value === 'number') return Number.isFinite(value) ? value : null;
  return typeof value === 'string' && DECIMAL.test(value) ? Number(value) : null;
}

export function isObject(value: unknown): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** The name of the object that a path is in; empty without one. */
function nameAt(json: GltfJson, [array, index]: Place): string {
  const list = json[String(array)];
  const object = Array.isArray(list) && typeof index === 'number' ? (list[index] as { name?: unknown } | null) : null;
  return readName(object?.name).trim();
}

/** The values that a schema allows, in words. */
function describeSchema(schema: Schema): string {
  switch (schema.is) {
    case 'number':
      return EXPECTED.number(schema);
    case 'numbers':
      return EXPECTED.numbers(schema.length, schema);
    case 'choice':
      return EXPECTED.choice(schema.of);
    case 'index':
      return EXPECTED.index(schema.of);
    case 'map':
      return EXPECTED.object;
    default:
      return EXPECTED[schema.is];
  }
}
