import { type Static, Type } from 'typebox';
import { KEY_PATTERN } from '../../core/codes.ts';
import { COLOUR_SOURCES, RANGE_STATUSES } from '../../core/finish/finish.ts';
import { METAL_NAMES } from '../../core/finish/metals.ts';
import { Code, Digest, Family, Name, nullable, Share, strict } from './common.ts';

const Three = (description: string) =>
  Type.Optional(Type.Array(Type.Number(), { minItems: 3, maxItems: 3, description }));

const Colour = Type.Object(
  {
    hex: Type.Optional(Type.String({ maxLength: 100, description: 'sRGB, #rrggbb' })),
    lab: Three('CIE L*a*b*'),
    xyz: Three('CIE XYZ; Y of the white is 100'),
    spectrum: Type.Optional(
      Type.Object(
        {
          startNm: Type.Number(),
          stepNm: Type.Number(),
          values: Type.Array(nullable(Type.Number()), { minItems: 1, maxItems: 500, description: 'Reflectance, 0–1' }),
        },
        strict,
      ),
    ),
    illuminant: Type.Optional(Type.String({ maxLength: 20 })),
    observer: Type.Optional(Type.String({ maxLength: 20 })),
    geometry: Type.Optional(Type.String({ maxLength: 20, description: 'di:8, de:8 or 45:0' })),
  },
  {
    ...strict,
    description: 'hex; or lab or xyz with illuminant (D50, D65) and observer (2deg, 10deg); or a spectrum',
  },
);

const GlossUnits = Type.Optional(Type.Number({ description: 'Gloss units' }));

const Hex = Type.String({ pattern: '^#[0-9a-fA-F]{6}$' });
/** Index of refraction. */
const Index = Type.Number({ minimum: 1, maximum: 2.5 });

const surface = {
  roughness: Type.Optional(Share),
  gloss: Type.Optional(
    Type.Object({ gu20: GlossUnits, gu60: GlossUnits, gu85: GlossUnits }, { ...strict, description: 'ISO 2813' }),
  ),
  metal: Type.Optional(Type.Boolean()),
  clearcoat: Type.Optional(Share),
  clearcoatRoughness: Type.Optional(Share),
  metalName: Type.Optional(
    Type.Enum([...METAL_NAMES], { description: 'Metal of the table the colour is held against' }),
  ),
  sheen: Type.Optional(nullable(Type.Object({ colour: Hex, roughness: Share }, strict))),
  transmission: Type.Optional(Share),
  volume: Type.Optional(
    nullable(
      Type.Object(
        {
          thicknessMm: Type.Number({ minimum: 0, maximum: 10_000 }),
          attenuationColour: Hex,
          attenuationDistanceMm: Type.Number({ exclusiveMinimum: 0, maximum: 1_000_000 }),
        },
        { ...strict, description: 'True thickness; white light has the colour after the distance. With transmission' },
      ),
    ),
  ),
  ior: Type.Optional(Index),
  specular: Type.Optional(nullable(Type.Object({ factor: Share, colour: Type.Optional(Hex) }, strict))),
  anisotropy: Type.Optional(
    nullable(
      Type.Object(
        { strength: Share, rotationDegrees: Type.Number({ minimum: -360, maximum: 360 }) },
        { ...strict, description: 'Direction of the drawn-out highlight, counter-clockwise from +U' },
      ),
    ),
  ),
  iridescence: Type.Optional(
    nullable(
      Type.Object(
        {
          factor: Share,
          ior: Type.Optional(Index),
          thicknessMinNm: Type.Optional(Type.Number({ minimum: 0, maximum: 10_000 })),
          thicknessMaxNm: Type.Optional(Type.Number({ minimum: 0, maximum: 10_000 })),
        },
        { ...strict, description: 'A thin film; left out: index 1.3, 100 to 400 nm' },
      ),
    ),
  ),
  emissive: Type.Optional(
    nullable(Type.Object({ colour: Hex, strength: Type.Number({ minimum: 0, maximum: 100_000 }) }, strict)),
  ),
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

const companions = Type.Optional(
  Type.Record(Type.String({ pattern: KEY_PATTERN }), Code, {
    description: 'Finishes that follow this one at other positions of the line: position to finish',
  }),
);

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
    colour: Type.Optional(Colour),
    colourFrom: Type.Optional(
      Type.Enum([...COLOUR_SOURCES], {
        description:
          'With a colour map: specification levels the map to the colour, map takes the mean of the map for the colour. Left out: map where no colour other than the map’s own is given',
      }),
    ),
    display: Type.Optional(Type.Object({ hex: Hex }, strict)),
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
  {
    name: Name,
    family: Family,
    composition: Type.Optional(Type.String({ maxLength: 500 })),
    threadsPerCm: Type.Optional(Type.Number({ exclusiveMinimum: 0, maximum: 500 })),
    companions,
    ...surface,
  },
  strict,
);
export type ArticleBody = Static<typeof ArticleBody>;
