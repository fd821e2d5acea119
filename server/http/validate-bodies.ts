import type { Ajv, ErrorObject, ValidateFunction } from 'ajv';
import { inTurns } from '../actions/in-turns.ts';
import { SLICE, type Sliced } from '../core/slices.ts';

// Bodies with long lists are checked against their schemas in slices: twenty thousand rows of a schedule take a twentieth of a
// second in one go.

/** A schema of an object, as far as lists among its fields matter. */
interface ObjectSchema {
  readonly properties?: Readonly<Record<string, { readonly type?: unknown; readonly items?: object }>>;
}

/** What a failed check throws, in the form that the framework expects. */
type InvalidBody = Error & { validation: readonly ErrorObject[]; validationContext: string };

/**
 * Compiles the check of a body. It answers at once, or with a promise that rejects for an invalid body where a list is long.
 * @param schema the body's
 */
export function compileBodyCheck(ajv: Ajv, schema: object): BodyCheck {
  const { properties = {} } = schema as ObjectSchema;
  const lists = Object.entries(properties).filter(([, { type, items }]) => type === 'array' && items !== undefined);
  const whole = ajv.compile(schema);
  if (lists.length === 0) return whole as BodyCheck;
  /** Compiled when the first long list comes. */
  let parts: BodyParts | undefined;
  const check: BodyCheck = (body) => {
    if (lists.some(([key]) => (listOf(body, key)?.length ?? 0) > SLICE)) {
      parts ??= compileParts(ajv, schema, lists);
      return inTurns(checkSliced(body, parts));
    }
    const passed = whole(body) as boolean;
    check.errors = whole.errors;
    return passed;
  };
  return check;
}

type BodyCheck = ((body: unknown) => boolean | Promise<true>) & { errors?: ErrorObject[] | null | undefined };

interface BodyParts {
  /** Checks all but the entries of lists. */
  readonly around: ValidateFunction;
  readonly entries: readonly (readonly [key: string, check: ValidateFunction])[];
}

function compileParts(
  ajv: Ajv,
  schema: object,
  lists: readonly (readonly [key: string, list: { readonly items?: object }])[],
): BodyParts {
  const { properties } = schema as ObjectSchema;
  const bare = Object.fromEntries(lists.map(([key, { items: _, ...list }]) => [key, list]));
  return {
    around: ajv.compile({ ...withoutId(schema), properties: { ...properties, ...bare } }),
    entries: lists.map(([key, { items }]) => [key, ajv.compile(withoutId(items!))]),
  };
}

function* checkSliced(body: unknown, { around, entries }: BodyParts): Sliced<true> {
  if (!around(body)) throw invalid(around.errors!);
  for (const [key, check] of entries) {
    const list = listOf(body, key) ?? [];
    for (let at = 0; at < list.length; at++) {
      if (at > 0 && at % SLICE === 0) yield;
      if (check(list[at])) continue;
      throw invalid(check.errors!.map((error) => ({ ...error, instancePath: `/${key}/${at}${error.instancePath}` })));
    }
  }
  return true;
}

function listOf(body: unknown, key: string): readonly unknown[] | undefined {
  const value = typeof body === 'object' && body !== null ? (body as Record<string, unknown>)[key] : undefined;
  return Array.isArray(value) ? value : undefined;
}

function invalid(validation: readonly ErrorObject[]): InvalidBody {
  return Object.assign(new Error('the body is not valid'), { validation, validationContext: 'body' });
}

/** A compiler refuses a second schema with the same id. */
function withoutId(schema: object): object {
  const { $id: _, ...rest } = schema as { readonly $id?: string };
  return rest;
}
