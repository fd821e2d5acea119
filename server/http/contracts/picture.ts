import { type Static, Type } from 'typebox';
import { PICTURE_SIZE_PX, SHADOWS, SWATCH_KINDS, SWATCH_LIGHTS, VIEWS } from '../../core/picture/picture.ts';
import { SET_LIMITS } from '../../core/picture/read-picture-set.ts';
import { PANEL_WIDTH_MM } from '../../core/picture/swatch.ts';
import { ColourSpecification, DeliveredColour, Tolerance } from './appearance.ts';
import { Findings } from './finding.ts';
import {
  Code,
  Count,
  DeltaE,
  Flag,
  Hex,
  Lab,
  mapOf,
  nullable,
  type ReadonlyStatic,
  ref,
  strict,
  Url,
} from './schema-parts.ts';

export const Pixels = Type.Integer({ minimum: PICTURE_SIZE_PX.min, maximum: PICTURE_SIZE_PX.max });
const SwatchPixels = Type.Integer({ minimum: PICTURE_SIZE_PX.min, maximum: PICTURE_SIZE_PX.swatchMax });
const { sideMm, ppi, bleedMm, fillPercent } = SET_LIMITS;

export const ShotView = Type.String({
  pattern: `^(${VIEWS.join('|')}|slot:[a-z0-9-]{1,64})$`,
  description: `${VIEWS.join(', ')}, or slot:{slot} for a close-up of its parts`,
});

export const Scale = Type.Enum(['product', 'line'], {
  description: 'line: all products of the line at one scale, at which the largest one fills the frame',
});

export const PictureQuery = Type.Object(
  {
    size: Type.Optional(Pixels),
    width: Type.Optional(Pixels),
    height: Type.Optional(Pixels),
    widthMm: Type.Optional(
      Type.Number({ minimum: sideMm.min, maximum: sideMm.max, description: 'Printed size, with heightMm and ppi' }),
    ),
    heightMm: Type.Optional(Type.Number({ minimum: sideMm.min, maximum: sideMm.max })),
    ppi: Type.Optional(Type.Number({ minimum: ppi.min, maximum: ppi.max })),
    bleedMm: Type.Optional(
      Type.Number({
        minimum: bleedMm.min,
        maximum: bleedMm.max,
        description: 'Added on every edge of a printed size. The product stays clear of it',
      }),
    ),
    view: Type.Optional(ShotView),
    ground: Type.Optional(
      Type.String({
        maxLength: 20,
        description: 'Background: transparent, white, or a colour as rrggbb (write # as %23)',
      }),
    ),
    fill: Type.Optional(
      Type.Integer({
        minimum: fillPercent.min,
        maximum: fillPercent.max,
        description: 'How much of the frame the product fills in its tighter direction, in percent. Default 85',
      }),
    ),
    scale: Type.Optional(Scale),
    samples: Type.Optional(
      Type.Enum(['16', '64'], {
        description: 'Samples per pixel. 64 takes four times as long and gives finer edges',
      }),
    ),
    shadow: Type.Optional(
      Type.Enum([...SHADOWS], {
        description: 'with or without its shadow. only: the shadow alone, in black with transparency',
      }),
    ),
    direct: Type.Optional({ ...Flag, description: '1: render the picture directly, whatever is stored' }),
    choice: Type.Optional(Type.Array(Type.String({ maxLength: 200 }), { maxItems: 200, description: 'slot:finish' })),
  },
  strict,
);
export type PictureQuery = Static<typeof PictureQuery>;

export const SwatchQuery = Type.Object(
  {
    kind: Type.Optional(Type.Enum([...SWATCH_KINDS])),
    size: Type.Optional(SwatchPixels),
    light: Type.Optional(
      Type.Enum([...SWATCH_LIGHTS], {
        description: 'flat: the exact base colour, in even light, without gloss and tone curve',
      }),
    ),
    widthMm: Type.Optional(
      Type.Number({
        minimum: PANEL_WIDTH_MM.min,
        maximum: PANEL_WIDTH_MM.max,
        description: 'Width of the piece on a panel. Default: a round number of mm, at least two repeats',
      }),
    ),
  },
  strict,
);
export type SwatchQuery = Static<typeof SwatchQuery>;

export const CatalogueQuery = Type.Object({ size: Type.Optional(Pixels) }, strict);
export type CatalogueQuery = Static<typeof CatalogueQuery>;

/** The scale, camera and findings of a picture, without rendering it. */
export const PictureDescriptionAnswer = Type.Object(
  {
    product: Code,
    choices: mapOf(Code, 'A finish for every slot'),
    view: Type.String(),
    widthPx: Count,
    heightPx: Count,
    pxPerMm: nullable(Type.Number(), 'Approximate scale in the middle of the product. Null for a close-up'),
    camera: nullable(
      Type.Object(
        {
          lensMm: Type.Number({ description: 'Focal length for a frame of 36 × 24 mm' }),
          distanceM: Type.Number({ description: 'From the lens to the middle of the product' }),
          yawDegrees: Type.Number({ description: 'From the front of the product towards +x' }),
          elevationDegrees: Type.Number({ description: 'Above the horizon' }),
        },
        strict,
      ),
      'Null whenever the scale is',
    ),
    findings: Findings,
  },
  strict,
);
export type PictureDescriptionAnswer = ReadonlyStatic<typeof PictureDescriptionAnswer>;

/** The measurements of a swatch. */
export const SwatchAnswer = Type.Object(
  {
    finish: Code,
    revision: Type.Integer({ minimum: 1 }),
    kind: Type.Enum([...SWATCH_KINDS]),
    sizePx: Count,
    light: Type.Enum([...SWATCH_LIGHTS]),
    scale: nullable(
      Type.Object({ widthMm: Type.Number(), pxPerMm: Type.Number() }, strict),
      'Of a panel. Null for other kinds',
    ),
    specified: Type.Object(
      {
        lab: Lab,
        illuminant: Type.Literal('D65'),
        observer: Type.Literal('2deg'),
        hex: nullable(Hex, 'Null if sRGB does not contain the colour'),
        given: nullable(ref(ColourSpecification), 'Null if the colour comes from the map'),
      },
      strict,
    ),
    delivered: DeliveredColour,
    measured: Type.Object(
      { where: Type.Enum(['flat', 'facing-centre', 'mean', 'whole-repeats']), hex: Hex, lab: Lab },
      { ...strict, description: 'Measured in the pixels of the picture' },
    ),
    deltaE: { ...DeltaE, description: 'ΔE00 between specified and measured' },
    tolerance: Tolerance,
    notes: Type.Array(Type.String(), { description: 'Why the two differ' }),
    findings: Findings,
    caution: Type.String(),
    picture: Url,
  },
  strict,
);
export type SwatchAnswer = ReadonlyStatic<typeof SwatchAnswer>;
