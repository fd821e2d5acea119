import { Type } from 'typebox';
import { CODE_PATTERN, KEY_PATTERN } from '../../core/codes.ts';
import { FAMILIES } from '../../core/finish/finish.ts';

/** Objects take the fields that are named and no others. */
export const strict = { additionalProperties: false } as const;

/** Codes are checked by the core, which says more than a pattern can; this keeps absurd lengths out. */
export const Code = Type.String({ maxLength: 200, description: `A code: ${CODE_PATTERN}` });
export const Key = Type.String({ pattern: KEY_PATTERN });
/** Names are measured and normalised by the core. */
export const Name = Type.String({ maxLength: 10_000, description: '1 to 120 characters' });
export const Digest = Type.String({ pattern: '^[0-9a-f]{64}$', description: 'SHA-256, lower-case hex' });
export const Share = Type.Number({ minimum: 0, maximum: 1 });
export const Family = Type.Enum([...FAMILIES]);

export const Options = Type.Object(
  {
    finishes: Type.Optional(Type.Array(Code, { maxItems: 5000 })),
    families: Type.Optional(Type.Array(Family)),
    tags: Type.Optional(Type.Array(Type.String({ maxLength: 64 }), { maxItems: 500 })),
    grades: Type.Optional(Type.Array(Type.String({ maxLength: 32 }), { maxItems: 100 })),
  },
  { ...strict, description: 'Union of what is listed, within the line’s range; absent means the whole range' },
);

export const nullable = <T extends Parameters<typeof Type.Union>[0][number]>(schema: T) =>
  Type.Union([schema, Type.Null()]);
