import { type Static, Type } from 'typebox';
import { PANEL_WIDTH_MM } from '../../core/picture/panel.ts';
import { PICTURE_SIZE_PX, SHADOWS, SWATCH_KINDS, SWATCH_LIGHTS, VIEWS } from '../../core/picture/picture.ts';
import { SET_LIMITS } from '../../core/picture/read-picture-set.ts';
import { strict } from './common.ts';

export const Pixels = Type.Integer({ minimum: PICTURE_SIZE_PX.min, maximum: PICTURE_SIZE_PX.max });
const SwatchPixels = Type.Integer({ minimum: PICTURE_SIZE_PX.min, maximum: PICTURE_SIZE_PX.swatchMax });
const { sideMm, ppi, bleedMm, fillPercent } = SET_LIMITS;

export const ShotView = Type.String({
  pattern: `^(${VIEWS.join('|')}|slot:[a-z0-9-]{1,64})$`,
  description: `${VIEWS.join(', ')}, or slot:{slot} for a close view of its parts`,
});

export const PictureQuery = Type.Object(
  {
    size: Type.Optional(Pixels),
    width: Type.Optional(Pixels),
    height: Type.Optional(Pixels),
    widthMm: Type.Optional(
      Type.Number({ minimum: sideMm.min, maximum: sideMm.max, description: 'with heightMm and ppi: a printed size' }),
    ),
    heightMm: Type.Optional(Type.Number({ minimum: sideMm.min, maximum: sideMm.max })),
    ppi: Type.Optional(Type.Number({ minimum: ppi.min, maximum: ppi.max })),
    bleedMm: Type.Optional(
      Type.Number({
        minimum: bleedMm.min,
        maximum: bleedMm.max,
        description: 'added on every edge of a printed size; the product keeps clear of it',
      }),
    ),
    view: Type.Optional(ShotView),
    ground: Type.Optional(
      Type.String({ maxLength: 20, description: 'transparent, white, or a colour as rrggbb (a # before it as %23)' }),
    ),
    fill: Type.Optional(
      Type.Integer({
        minimum: fillPercent.min,
        maximum: fillPercent.max,
        description: 'percent of the frame the product fills in its tighter direction; 85 when left out',
      }),
    ),
    scale: Type.Optional(
      Type.Enum(['product', 'line'], {
        description: 'line: all products of the line to one scale, at which the largest fills the frame',
      }),
    ),
    samples: Type.Optional(
      Type.Enum(['16', '64'], {
        description: 'subsamples of a pixel; 64 takes four times as long and has finer edges',
      }),
    ),
    shadow: Type.Optional(
      Type.Enum([...SHADOWS], { description: 'with the product, without, or only the shadow, black with coverage' }),
    ),
    direct: Type.Optional(
      Type.Enum(['0', '1'], { description: '1: rendered in one piece, whatever is stored or could be composed' }),
    ),
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
        description: 'flat: even light, no shine, no tone curve: the exact base colour',
      }),
    ),
    widthMm: Type.Optional(
      Type.Number({
        minimum: PANEL_WIDTH_MM.min,
        maximum: PANEL_WIDTH_MM.max,
        description: 'Width of the piece of a panel; a round figure of at least two repeats when left out',
      }),
    ),
  },
  strict,
);
export type SwatchQuery = Static<typeof SwatchQuery>;

export const CatalogueQuery = Type.Object({ size: Type.Optional(Pixels) }, strict);
export type CatalogueQuery = Static<typeof CatalogueQuery>;
