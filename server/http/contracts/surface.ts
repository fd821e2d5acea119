import { Type } from 'typebox';
import { KEY_PATTERN } from '../../core/codes.ts';
import { METAL_NAMES } from '../../core/finish/metals.ts';
import { GivenHex } from './colour.ts';
import { Code, Digest, nullable, Share, strict } from './schema-parts.ts';

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
  Type.Record(Type.String({ pattern: KEY_PATTERN }), Code, {
    description: 'Finishes that go with this one at other positions of the line: position to finish',
  }),
);
