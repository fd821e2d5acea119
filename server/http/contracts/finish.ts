import { type Static, Type } from 'typebox';
import { COLOUR_SOURCES, RANGE_STATUSES } from '../../core/finish/finish.ts';
import { LANGUAGE_PATTERN, NAMES_LIMIT } from '../../core/finish/finish-records.ts';
import {
  ColourSpecification,
  companions,
  DeliveredColour,
  GivenColour,
  GivenHex,
  LevelledMap,
  surface,
  Tolerance,
} from './appearance.ts';
import { Findings } from './finding.ts';
import {
  Code,
  DeltaE,
  Digest,
  Family,
  Hex,
  Lab,
  Name,
  Next,
  nullable,
  pageFields,
  type ReadonlyStatic,
  recordOf,
  ref,
  Share,
  strict,
} from './schema-parts.ts';

const GlossAngle = Type.Unsafe<20 | 60 | 85>({ enum: [20, 60, 85] });
const GlossLayer = Type.Enum(['base', 'clearcoat']);
const Units = Type.Number({ description: 'Gloss units' });

const Gloss = nullable(
  Type.Union([
    Type.Object(
      {
        kind: Type.Literal('inverted'),
        layer: GlossLayer,
        roughness: Share,
        angle: GlossAngle,
        gu: Units,
        shownGu: { ...Units, description: 'Gloss units of the result at the same angle' },
        gu60: Units,
        tolerance: { ...Units, description: 'Gloss units that the trade allows either way' },
      },
      strict,
    ),
    Type.Object(
      {
        kind: Type.Literal('out-of-reach'),
        side: Type.Enum(['above', 'below']),
        layer: GlossLayer,
        roughness: { ...Share, description: 'The nearest possible: 0 above, 1 below' },
        angle: GlossAngle,
        gu: Units,
        limitGu: Units,
        coatIor: Type.Optional(Type.Number()),
        coatLimitGu: Type.Optional(Units),
        message: Type.String(),
      },
      strict,
    ),
    Type.Object({ kind: Type.Literal('not-inverted'), reason: Type.String() }, strict),
  ]),
  'The roughness that the gloss reading gives. Null without a reading',
);

/** What a finish resolves to. Past revisions have the same fields. */
const resolvedFields = {
  baseColorFactor: Type.Array(Type.Number(), { description: 'Linear RGB' }),
  roughness: Share,
  metalness: Share,
  clearcoatRoughness: Share,
  gu60: nullable(Type.Number(), 'Gloss units at 60°. Null for surfaces whose gloss is not measured this way'),
  gloss: Gloss,
  glossBasis: Type.Optional(
    Type.String({ description: 'The assumption behind the conversion between gloss and roughness' }),
  ),
  hex: { ...Hex, description: 'Colour of the surface, or mean of its pattern: what a chip shows' },
  colourFrom: Type.Enum([...COLOUR_SOURCES]),
  specification: nullable(ref(ColourSpecification), 'Null if the only colour is that of the map'),
  delivered: DeliveredColour,
  levelled: LevelledMap,
  lab: Type.Object({ value: Lab, illuminant: Type.Literal('D65'), observer: Type.Literal('2deg') }, strict),
  outOfGamutDeltaE: { ...DeltaE, description: 'ΔE00 to the nearest sRGB colour' },
  estimated: nullable(
    Type.Object({ typicalDeltaE: DeltaE, worstDeltaE: DeltaE }, strict),
    'Error of an estimated colour: typical, and in 19 of 20 cases. Null if the colour is exact',
  ),
  includedLab: Type.Optional(Lab),
  chipDeltaE: { ...DeltaE, description: 'ΔE00 between the chip and the specified colour' },
  displayDeltaE: nullable(DeltaE, 'ΔE00 between the approved screen colour and the specified colour. Null without one'),
};

export const PastResolvedFinish = Type.Object(resolvedFields, strict);

export const ResolvedFinish = Type.Object(
  { ...resolvedFields, tolerance: Tolerance, findings: Findings },
  { ...strict, $id: 'ResolvedFinish', description: 'A finish with all defaults filled in' },
);
export type ResolvedAnswer = ReadonlyStatic<typeof ResolvedFinish>;

const definition = {
  name: Name,
  names: Type.Optional(recordOf(LANGUAGE_PATTERN, Name, NAMES_LIMIT, 'Language (BCP 47) to name')),
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

/** Without a limit, a list has so many finishes. */
export const FINISHES_AT_ONCE = 50_000;

export const FinishListQuery = Type.Object(
  {
    q: Type.Optional(
      Type.String({ maxLength: 200, description: 'Words in the code, name, supplier, reference or note' }),
    ),
    family: Type.Optional(Family),
    tag: Type.Optional(Type.String({ maxLength: 64 })),
    article: Type.Optional(Code),
    near: Type.Optional({ ...GivenHex, description: 'sRGB colour. The nearest finishes by ΔE00 come first' }),
    ...pageFields(FINISHES_AT_ONCE, `Default: ${FINISHES_AT_ONCE}; 5 with near`),
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

export const FinishListAnswer = Type.Object({ finishes: Type.Array(ref(FinishAnswer)), next: Next }, strict);
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
