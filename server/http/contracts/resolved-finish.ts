import { Type } from 'typebox';
import { COLOUR_SOURCES } from '../../core/finish/finish.ts';
import { ColourSpecification, DeliveredColour, LevelledMap, Tolerance } from './colour.ts';
import { Findings } from './finding.ts';
import { DeltaE, Hex, Lab, nullable, type ReadonlyStatic, ref, Share, strict } from './schema-parts.ts';

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
export const resolvedFields = {
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
