import { Problem } from '../problems.ts';
import { REPAIR_PROBLEMS } from '../texts/problems/model.ts';

type Range = readonly [number, number];

interface Refusal {
  readonly where: string;
  readonly detail: string;
  readonly expected: unknown;
  readonly received: unknown;
}

/** @throws Problem `invalid-repair` */
export function refuse({ where, ...more }: Refusal): never {
  throw new Problem('invalid-repair', { ...more, where: where || '/' });
}

/** A value as a refusal quotes it: shortened, or its kind where the value says little. */
export function describeValue(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (Array.isArray(value)) return `a list of ${value.length}`;
  if (typeof value === 'object' && value !== null) return 'an object';
  return typeof value === 'string' ? value.slice(0, 100) : String(value);
}

/** @throws Problem `invalid-repair` when it is not a list, or is too long or too short */
export function readList(value: unknown, where: string, [low, high]: Range, what: string): readonly unknown[] {
  if (!Array.isArray(value) || value.length < low || value.length > high) {
    refuse({
      where,
      detail: REPAIR_PROBLEMS['invalid-repair'].notAList(low, high, what),
      expected: `a list of ${low} to ${high}`,
      received: describeValue(value),
    });
  }
  return value as readonly unknown[];
}

/** Reads an object field by field and remembers the fields read, so that it can refuse all others. */
export class JsonFieldReader {
  readonly where: string;
  readonly #what: string;
  readonly #value: Readonly<Record<string, unknown>>;
  readonly #read = new Set<string>();

  constructor(value: unknown, where: string, what: string) {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) {
      refuse({
        where,
        detail: REPAIR_PROBLEMS['invalid-repair'].notAnObject(what),
        expected: 'an object',
        received: describeValue(value),
      });
    }
    this.where = where;
    this.#what = what;
    this.#value = value as Record<string, unknown>;
  }

  has(field: string): boolean {
    return Object.hasOwn(this.#value, field);
  }

  get(field: string): unknown {
    this.#read.add(field);
    return this.has(field) ? this.#value[field] : undefined;
  }

  /** `{field: …}` as `read` reads it, or nothing where the field is left out. */
  optional<F extends string, T>(field: F, read: (fields: this) => T): { readonly [K in F]?: T } {
    return (this.has(field) ? { [field]: read(this) } : {}) as { readonly [K in F]?: T };
  }

  number(field: string, [low, high]: Range): number {
    const value = this.get(field);
    if (typeof value === 'number' && value >= low && value <= high) return value;
    return this.#refuse(field, `a number from ${low} to ${high}`);
  }

  whole(field: string, [low, high]: Range): number {
    const value = this.get(field);
    if (Number.isInteger(value) && (value as number) >= low && (value as number) <= high) return value as number;
    return this.#refuse(field, `a whole number from ${low} to ${high}`);
  }

  boolean(field: string): boolean {
    const value = this.get(field);
    return typeof value === 'boolean' ? value : this.#refuse(field, 'true or false');
  }

  /** Text of 1 to `most` characters, unchanged. */
  text(field: string, most: number): string {
    const value = this.get(field);
    if (typeof value === 'string' && value !== '' && [...value].length <= most) return value;
    return this.#refuse(field, `text of 1 to ${most} characters`);
  }

  matching(field: string, form: RegExp, said: string): string {
    const value = this.get(field);
    return typeof value === 'string' && form.test(value) ? value : this.#refuse(field, said);
  }

  oneOf<T extends string>(field: string, values: readonly T[]): T {
    const value = this.get(field);
    return values.find((one) => one === value) ?? this.#refuse(field, `one of ${values.join(', ')}`);
  }

  list(field: string, range: Range): readonly unknown[] {
    return readList(this.get(field), `${this.where}/${field}`, range, field);
  }

  /** @throws Problem `invalid-repair` for the first field that was not read */
  refuseOthers(): void {
    const other = Object.keys(this.#value).find((field) => !this.#read.has(field));
    if (other === undefined) return;
    refuse({
      where: `${this.where}/${toToken(other)}`,
      detail: REPAIR_PROBLEMS['invalid-repair'].unknownField(this.#what, other.slice(0, 60)),
      expected: [...this.#read],
      received: other.slice(0, 60),
    });
  }

  #refuse(field: string, expected: string): never {
    return refuse({
      where: `${this.where}/${field}`,
      detail: REPAIR_PROBLEMS['invalid-repair'].field(this.#what, field, expected),
      expected,
      received: describeValue(this.get(field)),
    });
  }
}

/** A property's name inside a JSON pointer (RFC 6901), shortened. */
const toToken = (name: string) => name.slice(0, 60).replaceAll('~', '~0').replaceAll('/', '~1');
