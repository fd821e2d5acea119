import { type Static, Type } from 'typebox';
import { COLOUR_SOURCES, RANGE_STATUSES } from '../../core/finish/finish.ts';
import { ColourSpecification, GivenColour, GivenHex } from './colour.ts';
import { ResolvedFinish } from './resolved-finish.ts';
import { Code, DeltaE, Digest, Family, Hex, Name, type ReadonlyStatic, ref, Share, strict } from './schema-parts.ts';
import { companions, surface } from './surface.ts';

const definition = {
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
  colourFrom: Type.Optional(
    Type.Enum([...COLOUR_SOURCES], {
      description:
        'For a finish with a colour map. specification: Dyeworks adjusts the map to the colour. map: the mean of the map is the colour. Default: map if no other colour is given',
    }),
  ),
  display: Type.Optional(Type.Object({ hex: GivenHex }, { ...strict, description: 'Approved screen colour' })),
  ...surface,
  supplier: Type.Optional(Type.String({ maxLength: 120 })),
  note: Type.Optional(Type.String({ maxLength: 2000 })),
  companions,
  tags: Type.Optional(Type.Array(Type.String({ minLength: 1, maxLength: 64 }), { maxItems: 100 })),
  status: Type.Optional(Type.Enum([...RANGE_STATUSES])),
  supplied: Type.Optional(
    Type.Object(
      {
        file: Digest,
        says: Type.Optional(
          Type.Object(
            { hex: Hex, roughness: Share, metal: Type.Boolean() },
            {
              ...strict,
              description:
                'Values read from the material. If the finish has other values, the delivered factors follow it',
            },
          ),
        ),
      },
      {
        ...strict,
        description: 'A material imported with a model and delivered unchanged. Without it, an ordinary finish',
      },
    ),
  ),
};

export const FinishBody = Type.Object({ ...definition, colour: Type.Optional(GivenColour) }, strict);
export type FinishBody = Static<typeof FinishBody>;

const article = {
  name: Name,
  family: Family,
  composition: Type.Optional(Type.String({ maxLength: 500 })),
  threadsPerCm: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 500 })),
  companions,
  ...surface,
};

export const ArticleBody = Type.Object(article, strict);
export type ArticleBody = Static<typeof ArticleBody>;

export const FinishListQuery = Type.Object(
  {
    q: Type.Optional(
      Type.String({ maxLength: 200, description: 'Words in the code, name, supplier, reference or note' }),
    ),
    family: Type.Optional(Family),
    tag: Type.Optional(Type.String({ maxLength: 64 })),
    article: Type.Optional(Code),
    near: Type.Optional({ ...GivenHex, description: 'sRGB colour. The nearest finishes by ΔE00 come first' }),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 50_000 })),
  },
  strict,
);
export type FinishListQuery = Static<typeof FinishListQuery>;

export const NearIdenticalQuery = Type.Object(
  {
    deltaE: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 5, description: 'CIEDE2000. Default 1' })),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 10_000 })),
  },
  strict,
);
export type NearIdenticalQuery = Static<typeof NearIdenticalQuery>;

const storedFinish = { finish: Code, ...definition, colour: Type.Optional(ref(ColourSpecification)) };

/** A finish as it was defined in some revision. */
export const FinishDefinition = Type.Object(storedFinish, { ...strict, $id: 'FinishDefinition' });

export const FinishAnswer = Type.Object(
  {
    ...storedFinish,
    revision: Type.Integer({ minimum: 1, description: 'Counts every change, from 1' }),
    resolved: ref(ResolvedFinish),
    deltaE: Type.Optional({ ...DeltaE, description: 'ΔE00 to the colour in `near`' }),
  },
  { ...strict, $id: 'Finish' },
);
export type FinishAnswer = ReadonlyStatic<typeof FinishAnswer>;

export const FinishListAnswer = Type.Object({ finishes: Type.Array(ref(FinishAnswer)) }, strict);
export type FinishListAnswer = ReadonlyStatic<typeof FinishListAnswer>;

/** Pairs of near-identical colours. */
export const NearIdenticalAnswer = Type.Object(
  {
    deltaE: { ...DeltaE, description: 'The limit, CIEDE2000' },
    pairs: Type.Array(
      Type.Object(
        {
          finishes: Type.Unsafe<[string, string]>({ type: 'array', items: Code, minItems: 2, maxItems: 2 }),
          deltaE: DeltaE,
        },
        strict,
      ),
    ),
  },
  strict,
);
export type NearIdenticalAnswer = ReadonlyStatic<typeof NearIdenticalAnswer>;

export const ArticleAnswer = Type.Object({ article: Code, ...article }, { ...strict, $id: 'Article' });
export type ArticleAnswer = ReadonlyStatic<typeof ArticleAnswer>;

export const ArticleListAnswer = Type.Object({ articles: Type.Array(ref(ArticleAnswer)) }, strict);
export type ArticleListAnswer = ReadonlyStatic<typeof ArticleListAnswer>;
