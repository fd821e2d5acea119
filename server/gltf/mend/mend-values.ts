import type { Damage, DamageCode } from '../../core/product/survey.ts';
import type { GltfJson } from '../document/json.ts';
import { describeValue, sayPlace, sayShape } from './say-damage.ts';
import type { ObjectShape, Shape, Target } from './shape.ts';

export type Loose = Record<string, unknown>;
export type Place = readonly (string | number)[];

/** What stands for a value that is to be left out. */
const OUT = Symbol('left out');

/** Largest number of single precision (IEEE 754 binary32), in which glTF's numbers are read. */
const LARGEST = 3.4028234663852886e38;

/** Brings values to their shapes, and notes what was changed. What is right is handed back as it is, not copied. */
export class Mender {
  readonly damages: Damage[] = [];

  /**
   * @param json the document as it was read, for the names of places
   * @param isThere whether an index points at something
   */
  constructor(
    private readonly json: GltfJson,
    private readonly isThere: (target: Target, index: number) => boolean,
  ) {}

  /** An object of an array, which keeps its place whatever is left out of it. */
  mendObject(value: Loose, shape: ObjectShape, at: Place): Loose {
    const mended = this.#mendFields(value, shape, at);
    return mended === OUT ? value : (mended as Loose);
  }

  note(code: DamageCode, at: Place, seen: unknown, expected: string, used: unknown = undefined): void {
    this.damages.push({
      code,
      ...sayPlace(this.json, at),
      where: `/${at.join('/')}`,
      seen: describeValue(seen),
      expected,
      used: used === undefined ? null : describeValue(used),
    });
  }

  #mend(value: unknown, shape: Shape, at: Place): unknown {
    switch (shape.is) {
      case 'object':
        return isObject(value) ? this.#mendFields(value, shape, at) : this.#leaveOut(value, shape, at);
      case 'list':
        return Array.isArray(value) ? this.#mendList(value, shape, at) : this.#leaveOut(value, shape, at);
      case 'map':
        return isObject(value) ? this.#mendMap(value, shape, at) : this.#leaveOut(value, shape, at);
      case 'index': {
        const index = toNumber(value);
        if (index === null || !Number.isInteger(index) || index < 0) return this.#leaveOut(value, shape, at);
        if (!this.isThere(shape.of, index)) {
          this.note('dangling-reference', at, value, sayShape(shape));
          return OUT;
        }
        return this.#settle(value, index, shape, at);
      }
      case 'numbers':
        return this.#mendNumbers(value, shape, at);
      default:
        return this.#mendPlain(value, shape, at);
    }
  }

  #mendPlain(value: unknown, shape: Shape, at: Place): unknown {
    const mended = readPlain(value, shape);
    return mended === OUT ? this.#leaveOut(value, shape, at) : this.#settle(value, mended, shape, at);
  }

  #mendNumbers(value: unknown, shape: Extract<Shape, { is: 'numbers' }>, at: Place): unknown {
    const { length, min, max } = shape;
    if (!Array.isArray(value) || value.length !== (length ?? value.length)) return this.#leaveOut(value, shape, at);
    const mended = value.map((item) => readNumber(item, { min, max }));
    if (mended.includes(OUT)) return this.#leaveOut(value, shape, at);
    if (mended.every((item, i) => item === value[i])) return value;
    return this.#settle(value, mended, shape, at);
  }

  #mendFields(value: Loose, shape: ObjectShape, at: Place): Loose | typeof OUT {
    const absent = shape.needs?.find((key) => value[key] === undefined || value[key] === null);
    if (absent !== undefined) {
      this.note('damaged-value', at, value, `an object that has “${absent}”`);
      return OUT;
    }
    let mended = value;
    const change = (key: string, to: unknown) => {
      if (mended === value) mended = { ...value };
      if (to === OUT) delete mended[key];
      else mended[key] = to;
    };
    for (const [key, field] of Object.entries(value)) {
      const own = Object.hasOwn(shape.fields, key) ? shape.fields[key] : undefined;
      if (field === null && key !== 'extras') {
        this.note('damaged-value', [...at, key], null, own ? sayShape(own) : 'a value');
        change(key, OUT);
      } else if (key === 'extensions') {
        const extensions = this.#mendExtensions(field, shape, [...at, key]);
        if (extensions !== field) change(key, extensions);
      } else if (own) {
        const to = this.#mend(field, own, [...at, key]);
        if (to !== field) change(key, to);
      }
    }
    return shape.needs?.some((key) => mended[key] === undefined) ? OUT : mended;
  }

  #mendExtensions(value: unknown, { extensions: known = {} }: ObjectShape, at: Place): unknown {
    if (!isObject(value)) return this.#leaveOut(value, { is: 'object', fields: {} }, at);
    let mended = value;
    for (const [name, extension] of Object.entries(value)) {
      if (!Object.hasOwn(known, name)) continue;
      const to = this.#mend(extension, known[name]!, [...at, name]);
      if (to === extension) continue;
      if (mended === value) mended = { ...value };
      if (to === OUT) delete mended[name];
      else mended[name] = to;
    }
    return mended !== value && Object.keys(mended).length === 0 ? OUT : mended;
  }

  #mendList(value: readonly unknown[], shape: Extract<Shape, { is: 'list' }>, at: Place): unknown {
    const { of, filled, keeps } = shape;
    const mended = value.map((item, i) => {
      const to = this.#mend(item, of, [...at, i]);
      return to === OUT && keeps ? item : to;
    });
    if (mended.every((item, i) => item === value[i])) return value;
    const left = mended.filter((item) => item !== OUT);
    return filled && left.length === 0 ? OUT : left;
  }

  #mendMap(value: Loose, { of }: Extract<Shape, { is: 'map' }>, at: Place): unknown {
    const mended = Object.entries(value).map(([key, item]) => [key, this.#mend(item, of, [...at, key])] as const);
    const left = mended.filter(([, item]) => item !== OUT);
    if (left.length === 0) return OUT;
    return mended.every(([key, item]) => item === value[key]) ? value : Object.fromEntries(left);
  }

  #settle(value: unknown, mended: unknown, shape: Shape, at: Place): unknown {
    if (mended !== value) this.note('damaged-value', at, value, sayShape(shape), mended);
    return mended;
  }

  #leaveOut(value: unknown, shape: Shape, at: Place): typeof OUT {
    this.note('damaged-value', at, value, sayShape(shape));
    return OUT;
  }
}

function readPlain(value: unknown, shape: Shape): unknown {
  switch (shape.is) {
    case 'number':
      return readNumber(value, shape);
    case 'whole': {
      const number = toNumber(value);
      return number !== null && Number.isSafeInteger(number) && number >= 0 ? number : OUT;
    }
    case 'flag':
      return typeof value === 'boolean' ? value : OUT;
    case 'text':
      return typeof value === 'string' ? value : OUT;
    case 'choice':
      return shape.of.includes(value as never) ? value : OUT;
    default:
      return OUT;
  }
}

interface Range {
  readonly min?: number | undefined;
  readonly max?: number | undefined;
  readonly above?: number;
  readonly or?: number;
}

function readNumber(value: unknown, { min = -LARGEST, max = LARGEST, above, or }: Range): number | typeof OUT {
  const number = toNumber(value);
  if (number === null || Math.abs(number) > LARGEST) return OUT;
  if (number === or) return number;
  if (above !== undefined && number <= above) return OUT;
  return Math.min(Math.max(number, min), max);
}

const DECIMAL = /^\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?\s*$/i;

/** A number, also one that is written as text. */
function toNumber(value: unknown): number | null {
  if (typeof value === 'number') return Number.isFinite(value) ? value : null;
  return typeof value === 'string' && DECIMAL.test(value) ? Number(value) : null;
}

export function isObject(value: unknown): value is Loose {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
