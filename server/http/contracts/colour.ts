import { type TSchema, Type } from 'typebox';
import { GEOMETRIES, ILLUMINANTS, OBSERVERS } from '../../core/finish/finish.ts';
import { DeltaE, Hex, Lab, nullable, strict, three } from './schema-parts.ts';

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
