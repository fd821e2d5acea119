import { type Static, Type } from 'typebox';
import { Code, Family, strict } from './common.ts';

export const FinishQueryString = Type.Object(
  {
    q: Type.Optional(
      Type.String({ maxLength: 200, description: 'Words of a code, name, supplier, reference or note' }),
    ),
    family: Type.Optional(Family),
    tag: Type.Optional(Type.String({ maxLength: 64 })),
    article: Type.Optional(Code),
    near: Type.Optional(
      Type.String({ pattern: '^#[0-9a-fA-F]{6}$', description: 'sRGB; the nearest by ΔE00 come first' }),
    ),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 50_000 })),
  },
  strict,
);
export type FinishQueryString = Static<typeof FinishQueryString>;

export const AlikeQuery = Type.Object(
  {
    deltaE: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 5, description: 'CIEDE2000; 1 unless said' })),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 10_000 })),
  },
  strict,
);
export type AlikeQuery = Static<typeof AlikeQuery>;
