import { type TSchema, Type } from 'typebox';
import { KEY_PATTERN } from '../../core/codes.ts';
import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../core/finish/finish.ts';
import { COMPANIONS_LIMIT } from '../../core/finish/finish-records.ts';
import { METAL_NAMES } from '../../core/finish/metals.ts';
import { Code, DeltaE, Digest, Hex, Lab, nullable, recordOf, Share, strict, three } from './schema-parts.ts';

/** Hex in either case, as calls may write it. */
export const GivenHex = Type.String({ pattern: '^#[0-9a-fA-F]{6}$' });

const spectrum = <T extends TSchema>(value: T) =>
  Type.Object(
    {
      startNm: Type.Number(),
      stepNm: Type.Number(),
      values: Type.Array(value, { minItems: 1, maxItems: 500, description: 'Reflectance, 0–1' }),
    },
    strict,
  );

const Three = (description: string) =>
  Type.Optional(Type.Array(Type.Number(), { minItems: 3, maxItems: 3, description }));

/** A colour in a call. The core checks which fields go together, and explains what is missing. */
export const GivenColour = Type.Object(
  {
    hex: Type.Optional(Type.String({ maxLength: 100, description: 'sRGB, #rrggbb' })),
    lab: Three('CIE L*a*b*'),
    xyz: Three('CIE XYZ; Y of the white is 100'),
    spectrum: Type.Optional(spectrum(nullable(Type.Number()))),
    illuminant: Type.Optional(Type.String({ maxLength: 20 })),
    observer: Type.Optional(Type.String({ maxLength: 20 })),
    geometry: Type.Optional(Type.String({ maxLength: 20, description: 'di:8, de:8 or 45:0' })),
  },
  {
    ...strict,
    description: 'hex; or lab or xyz with illuminant (D50, D65) and observer (2deg, 10deg); or a spectrum',
  },
);

const geometry = Type.Optional(Type.Enum([...GEOMETRIES]));
const viewing = { illuminant: Type.Enum([...ILLUMINANTS]), observer: Type.Enum([...OBSERVERS]), geometry };

export const ColourSpecification = Type.Union(
  [
    Type.Object({ hex: Hex }, strict),
    Type.Object({ lab: three('CIE L*a*b*'), ...viewing }, strict),
    Type.Object({ xyz: three('CIE XYZ; Y of the white is 100'), ...viewing }, strict),
    Type.Object({ spectrum: spectrum(Type.Number()), geometry }, strict),
  ],
  { $id: 'ColourSpecification', description: 'A colour as its maker states it' },
);

export const DeliveredColour = nullable(
  Type.Object({ lab: Lab, hex: Hex, deltaE: { ...DeltaE, description: 'ΔE00 from the specified colour' } }, strict),
  'Area mean of the delivered colour: factor × colour map, without coat and sheen. Null if it cannot be measured',
);

export const LevelledMap = nullable(
  Type.Object(
    {
      contrast: nullable(
        Type.Number(),
        'Null: the map is delivered as uploaded. 1: re-encoded brighter. Below 1: also flatter',
      ),
      factor: three('baseColorFactor in linear light'),
      mean: three('Area mean of factor × delivered map, in linear light'),
      clipped: Type.Number({ description: 'Share of texels cut off at white, 0–1' }),
    },
    strict,
  ),
  'How Dyeworks adjusts the colour map to the specified colour. Null without a map',
);

export const Tolerance = Type.Object(
  {
    formula: Type.Enum(['ab', 'cmc-2-1', 'de2000']),
    limit: nullable(Type.Number(), 'Null if the standard sets no limit for the material'),
    rests: Type.Enum(['standard', 'practice']),
    source: Type.String(),
    difference: nullable(Type.Number(), 'By the formula of the tolerance'),
    within: nullable(Type.Boolean()),
  },
  { ...strict, description: 'The difference that the trade allows between the specified and the delivered colour' },
);

const GlossUnits = Type.Optional(Type.Number({ description: 'Gloss units' }));
const RefractiveIndex = Type.Number({ minimum: 1, maximum: 2.5 });

export const FinishMaps = Type.Object(
  { colour: Type.Optional(Digest), normal: Type.Optional(Digest), roughness: Type.Optional(Digest) },
  strict,
);

/** The surface of a finish or an article, apart from its colour. */
export const surface = {
  roughness: Type.Optional(Share),
  gloss: Type.Optional(
    Type.Object({ gu20: GlossUnits, gu60: GlossUnits, gu85: GlossUnits }, { ...strict, description: 'ISO 2813' }),
  ),
  metal: Type.Optional(Type.Boolean()),
  clearcoat: Type.Optional(Share),
  clearcoatRoughness: Type.Optional(Share),
  metalName: Type.Optional(
    Type.Enum([...METAL_NAMES], { description: 'A metal of the table, whose colour Dyeworks compares with this one' }),
  ),
  sheen: Type.Optional(nullable(Type.Object({ colour: GivenHex, roughness: Share }, strict))),
  transmission: Type.Optional(Share),
  volume: Type.Optional(
    nullable(
      Type.Object(
        {
          thicknessMm: Type.Number({ minimum: 0, maximum: 10_000 }),
          attenuationColour: GivenHex,
          attenuationDistanceMm: Type.Number({ exclusiveMinimum: 0, maximum: 1_000_000 }),
        },
        {
          ...strict,
          description: 'True thickness, and the colour that white light has after the distance. Needs transmission',
        },
      ),
    ),
  ),
  ior: Type.Optional(RefractiveIndex),
  specular: Type.Optional(nullable(Type.Object({ factor: Share, colour: Type.Optional(GivenHex) }, strict))),
  anisotropy: Type.Optional(
    nullable(
      Type.Object(
        { strength: Share, rotationDegrees: Type.Number({ minimum: -360, maximum: 360 }) },
        { ...strict, description: 'Direction in which the highlight stretches, counter-clockwise from +U' },
      ),
    ),
  ),
  iridescence: Type.Optional(
    nullable(
      Type.Object(
        {
          factor: Share,
          ior: Type.Optional(RefractiveIndex),
          thicknessMinNm: Type.Optional(Type.Number({ minimum: 0, maximum: 10_000 })),
          thicknessMaxNm: Type.Optional(Type.Number({ minimum: 0, maximum: 10_000 })),
        },
        { ...strict, description: 'A thin film. Defaults: index 1.3, 100–400 nm' },
      ),
    ),
  ),
  emissive: Type.Optional(
    nullable(Type.Object({ colour: GivenHex, strength: Type.Number({ minimum: 0, maximum: 100_000 }) }, strict)),
  ),
  maps: Type.Optional(FinishMaps),
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

export const companions = Type.Optional(
  recordOf(
    KEY_PATTERN,
    Code,
    COMPANIONS_LIMIT,
    'Finishes that go with this one at other positions of the line: position to finish',
  ),
);
