import { type Static, Type } from 'typebox';
import { PANEL_WIDTH_MM } from '../../core/picture/panel.ts';
import { GROUNDS, PICTURE_SIZE_PX, SHADOWS, SWATCH_KINDS, SWATCH_LIGHTS, VIEWS } from '../../core/picture/picture.ts';
import { strict } from './common.ts';

export const Pixels = Type.Integer({ minimum: PICTURE_SIZE_PX.min, maximum: PICTURE_SIZE_PX.max });

export const PictureQuery = Type.Object(
  {
    size: Type.Optional(Pixels),
    width: Type.Optional(Pixels),
    height: Type.Optional(Pixels),
    view: Type.Optional(Type.Enum([...VIEWS])),
    ground: Type.Optional(Type.Enum([...GROUNDS])),
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
    size: Type.Optional(Pixels),
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
