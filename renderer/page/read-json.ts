/** An object of a document that may hold anything: what is read from it is checked where it is read. */
export type Json = Readonly<Record<string, unknown>>;

/** Floats on the GL side are single: what is larger has no value there. */
export const LARGEST = 3.4028234663852886e38;

/** The value where it is an object, else an empty one. */
export function asObject(value: unknown): Json {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Json) : {};
}

export function asList(value: unknown): readonly unknown[] {
  return Array.isArray(value) ? value : [];
}

/** The value where it is a whole number from 0 upwards. */
export function asIndex(value: unknown): number | undefined {
  return Number.isSafeInteger(value) && (value as number) >= 0 ? (value as number) : undefined;
}

/** The value where it is a number a shader can hold. */
export function asNumber(value: unknown): number | undefined {
  return typeof value === 'number' && Math.abs(value) <= LARGEST ? value : undefined;
}

/** So many numbers, or undefined: with one of them missing, none is of use. */
export function asNumbers(value: unknown, length: number): readonly number[] | undefined {
  const list = asList(value);
  return list.length >= length && list.slice(0, length).every((each) => asNumber(each) !== undefined)
    ? (list.slice(0, length) as number[])
    : undefined;
}

export function asText(value: unknown): string {
  return typeof value === 'string' ? value : '';
}

/** What an extension says of an object; undefined where it says nothing. */
export function getExtension(object: Json, name: string): Json | undefined {
  const found = asObject(object.extensions)[name];
  return found === undefined || found === null ? undefined : asObject(found);
}
