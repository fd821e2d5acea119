import { type Static, Type } from 'typebox';
import { RANGE_STATUSES } from '../../core/finish/finish.ts';
import { Code, Digest, Family, Name, nullable, Share, strict } from './common.ts';

const Colour = Type.Object(
  {
    hex: Type.Optional(Type.String({ maxLength: 100, description: 'sRGB, #rrggbb' })),
    lab: Type.Optional(Type.Array(Type.Number(), { minItems: 3, maxItems: 3, description: 'CIE L*a*b*' })),
    illuminant: Type.Optional(Type.String({ maxLength: 20 })),
    observer: Type.Optional(Type.String({ maxLength: 20 })),
    geometry: Type.Optional(Type.Enum(['di:8', 'de:8', '45:0'])),
    spectrum: Type.Optional(Type.Unknown()),
  },
  { ...strict, description: 'hex, or lab with illuminant (D50, D65) and observer (2deg)' },
);

const surface = {
  roughness: Type.Optional(Share),
  gloss: Type.Optional(Type.Unknown({ description: 'Gloss units; not turned into roughness yet' })),
  metal: Type.Optional(Type.Boolean()),
  clearcoat: Type.Optional(Share),
  clearcoatRoughness: Type.Optional(Share),
  sheen: Type.Optional(
    nullable(Type.Object({ colour: Type.String({ pattern: '^#[0-9a-fA-F]{6}$' }), roughness: Share }, strict)),
  ),
  transmission: Type.Optional(Share),
  ior: Type.Optional(Type.Number({ minimum: 1, maximum: 2.5 })),
  maps: Type.Optional(
    Type.Object(
      { colour: Type.Optional(Digest), normal: Type.Optional(Digest), roughness: Type.Optional(Digest) },
      strict,
    ),
  ),
  tile: Type.Optional(
    Type.Object(
      {
        widthMm: Type.Number({ exclusiveMinimum: 0, maximum: 100_000 }),
        heightMm: Type.Number({ exclusiveMinimum: 0, maximum: 100_000 }),
        grainDegrees: Type.Optional(Type.Number({ minimum: -360, maximum: 360 })),
      },
      strict,
    ),
  ),
};

export const FinishBody = Type.Object(
  {
    name: Name,
    names: Type.Optional(Type.Record(Type.String({ pattern: '^[a-zA-Z]{2,3}(-[a-zA-Z0-9]{2,8})*$' }), Name)),
    family: Family,
    article: Type.Optional(Code),
    reference: Type.Optional(
      Type.Object(
        {
          system: Type.String({ maxLength: 120 }),
          code: Type.String({ maxLength: 120 }),
          texture: Type.Optional(Type.String({ maxLength: 120 })),
        },
        strict,
      ),
    ),
    colour: Colour,
    display: Type.Optional(Type.Object({ hex: Type.String({ pattern: '^#[0-9a-fA-F]{6}$' }) }, strict)),
    ...surface,
    tags: Type.Optional(Type.Array(Type.String({ minLength: 1, maxLength: 64 }), { maxItems: 100 })),
    status: Type.Optional(Type.Enum([...RANGE_STATUSES])),
    supplied: Type.Optional(
      Type.Object(
        {
          file: Digest,
          says: Type.Optional(
            Type.Object(
              { hex: Type.String({ pattern: '^#[0-9a-f]{6}$' }), roughness: Share, metal: Type.Boolean() },
              { ...strict, description: 'Read of the material; where the finish says otherwise, factors follow it' },
            ),
          ),
        },
        {
          ...strict,
          description: 'A material taken in with a model, delivered as it is; left out, an ordinary finish',
        },
      ),
    ),
  },
  strict,
);
export type FinishBody = Static<typeof FinishBody>;

export const ArticleBody = Type.Object(
  { name: Name, family: Family, composition: Type.Optional(Type.String({ maxLength: 500 })), ...surface },
  strict,
);
export type ArticleBody = Static<typeof ArticleBody>;
