import { type Static, type TSchema, Type } from 'typebox';
import { CODE_PATTERN, KEY_PATTERN } from '../../core/codes.ts';
import { FAMILIES } from '../../core/finish/finish.ts';

/** For objects that have the declared fields and no others. */
export const strict = { additionalProperties: false } as const;

/** The type of an answer: what its schema describes, read-only at every depth. */
export type ReadonlyStatic<T extends TSchema> = ReadonlyDeep<Static<T>>;

type ReadonlyDeep<T> = unknown extends T ? T : T extends object ? { readonly [K in keyof T]: ReadonlyDeep<T[K]> } : T;

/** Points to a schema that has an `$id`. The OpenAPI document holds such a schema once, under `components/schemas`. */
export function ref<T extends TSchema>(schema: T) {
  return Type.Unsafe<Static<T>>({ $ref: `${(schema as { $id?: string }).$id}#` });
}

/** The core checks codes and explains what is wrong. This limit only keeps out absurd lengths. */
export const Code = Type.String({ maxLength: 200, description: `A code: ${CODE_PATTERN}` });
export const Key = Type.String({ pattern: KEY_PATTERN });
/** The core measures and normalises names. */
export const Name = Type.String({ maxLength: 10_000, description: '1 to 120 characters' });
export const Digest = Type.String({ pattern: '^[0-9a-f]{64}$', description: 'SHA-256, lower-case hex' });
export const Share = Type.Number({ minimum: 0, maximum: 1 });
export const Family = Type.Enum([...FAMILIES]);
export const Flag = Type.Enum(['0', '1']);
export const Count = Type.Integer({ minimum: 0 });
export const Url = Type.String({ description: 'URL path on this service' });
/** 8-bit sRGB, as answers write it. */
export const Hex = Type.String({ pattern: '^#[0-9a-f]{6}$', description: '8-bit sRGB' });
export const DeltaE = Type.Number({ minimum: 0, description: 'CIEDE2000 (ΔE00)' });
export const Time = Type.String({ description: 'ISO 8601, UTC' });

/** What the query of a list has that answers page by page. */
export const pageFields = (most: number, description = `Default: ${most}`) => ({
  limit: Type.Optional(Type.Integer({ minimum: 1, maximum: most, description })),
  after: Type.Optional(Type.Integer({ minimum: 0, description: 'The `next` of the page before' })),
});

/** Without a limit, a list of numbered entries has so many. */
export const NUMBERED_AT_ONCE = 1000;

/** The query of a list of numbered entries, newest first. */
export const NumberedQuery = Type.Object(pageFields(NUMBERED_AT_ONCE), strict);
export type NumberedQuery = Static<typeof NumberedQuery>;

/** In the answer of such a list. */
export const Next = Type.Optional(
  Type.Integer({ minimum: 0, description: 'The `after` of the next page. Missing on the last one' }),
);

export const nullable = <T extends TSchema>(schema: T, description?: string) =>
  Type.Union([schema, Type.Null()], description === undefined ? {} : { description });

/**
 * An object in a call, with keys and values of one kind each, and no others.
 * @param keys pattern of a key
 * @param most entries
 */
export const recordOf = <T extends TSchema>(keys: string, schema: T, most: number, description?: string) =>
  Type.Unsafe<Record<string, Static<T>>>({
    type: 'object',
    propertyNames: { pattern: keys },
    additionalProperties: schema,
    maxProperties: most,
    ...(description !== undefined && { description }),
  });

/** An object in an answer, with any keys and values of one kind. */
export const mapOf = <T extends TSchema>(schema: T, description?: string) =>
  Type.Unsafe<Record<string, Static<T>>>({
    type: 'object',
    additionalProperties: schema,
    ...(description !== undefined && { description }),
  });

const numbers = (length: number, description?: string) => ({
  type: 'array',
  items: { type: 'number' },
  minItems: length,
  maxItems: length,
  ...(description !== undefined && { description }),
});
export const two = (description?: string) => Type.Unsafe<[number, number]>(numbers(2, description));
export const three = (description?: string) => Type.Unsafe<[number, number, number]>(numbers(3, description));
export const four = (description?: string) => Type.Unsafe<[number, number, number, number]>(numbers(4, description));

/** Two values of one kind. */
export const pairOf = <T extends TSchema>(items: T) =>
  Type.Unsafe<[Static<T>, Static<T>]>({ type: 'array', items, minItems: 2, maxItems: 2 });

export const Lab = three('CIE L*a*b*, D65, 2°');

export const Options = Type.Object(
  {
    finishes: Type.Optional(Type.Array(Code, { maxItems: 5000 })),
    families: Type.Optional(Type.Array(Family, { maxItems: FAMILIES.length })),
    tags: Type.Optional(Type.Array(Type.String({ maxLength: 64 }), { maxItems: 500 })),
    grades: Type.Optional(Type.Array(Type.String({ maxLength: 32 }), { maxItems: 100 })),
  },
  { ...strict, description: 'The union of what is listed, within the line’s range. Without it, the whole range' },
);
