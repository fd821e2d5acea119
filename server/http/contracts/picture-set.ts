import { type Static, Type } from 'typebox';
import { GS1_CAVEAT } from '../../core/picture/gs1-name.ts';
import { SET_FORMATS, SET_SHADOWS } from '../../core/picture/picture-set.ts';
import { Code, Name, strict } from './common.ts';

const Word = Type.String({ maxLength: 100 });
/** Bounds of sizes are the core’s, which says more than a range can. */
const Figure = Type.Number();

export const PictureSetBody = Type.Object(
  {
    name: Name,
    views: Type.Optional(
      Type.Array(Word, {
        maxItems: 100,
        description: 'Of every variant: front, three-quarter, three-quarter-left, side, back, top, slot:{slot}',
      }),
    ),
    swatches: Type.Optional(
      Type.Array(Word, {
        maxItems: 10,
        description: 'In the place of views, of every finish in the schedule: chip, sphere, panel, cutting',
      }),
    ),
    sizes: Type.Optional(Type.Array(Figure, { maxItems: 20, description: 'Sides of squares, in pixels; or' })),
    widthPx: Type.Optional(Figure),
    heightPx: Type.Optional(Figure),
    widthMm: Type.Optional(Type.Number({ description: 'Or a printed size: widthMm, heightMm and ppi' })),
    heightMm: Type.Optional(Figure),
    ppi: Type.Optional(Figure),
    bleedMm: Type.Optional(Type.Number({ description: 'Added on all four edges of a printed size; 0 when absent' })),
    format: Type.Enum([...SET_FORMATS]),
    quality: Type.Optional(Type.Number({ description: '1 to 100, of JPEG and WebP; 90 when absent' })),
    ground: Type.Optional(Type.String({ maxLength: 40, description: 'transparent, white (when absent) or #rrggbb' })),
    shadow: Type.Optional(
      Type.Enum([...SET_SHADOWS], {
        description: 'separate: the product without its shadow, and the shadow in a file of its own',
      }),
    ),
    fill: Type.Optional(
      Type.Object(
        { minPercent: Figure, maxPercent: Figure },
        { ...strict, description: 'How much of the frame the product takes; 75 to 90 when absent' },
      ),
    ),
    scale: Type.Optional(
      Type.Enum(['product', 'line'], {
        description: 'line: all products of a line to one scale, at which the largest fills the frame as said',
      }),
    ),
    names: Type.Optional(
      Type.String({
        maxLength: 1000,
        description:
          'Template of file names; {product}, {line}, {variant}, {name}, {finish}, {view}, {size}, {format}, {gtin}, {index}',
      }),
    ),
    gs1Names: Type.Optional(Type.Boolean({ description: `GS1 names for variants with a GTIN. ${GS1_CAVEAT}` })),
    profile: Type.Optional(Type.Enum(['srgb'])),
  },
  strict,
);
export type PictureSetBody = Static<typeof PictureSetBody>;

export const SetPlanQuery = Type.Object(
  {
    files: Type.Optional(Type.Enum(['0', '1'], { description: '0: figures only, without the list of files' })),
  },
  strict,
);
export type SetPlanQuery = Static<typeof SetPlanQuery>;

export const SetJobBody = Type.Object(
  { variants: Type.Optional(Type.Array(Code, { minItems: 1, maxItems: 20_000 })) },
  strict,
);
export type SetJobBody = Static<typeof SetJobBody>;

export const SetZipQuery = Type.Object(
  {
    variant: Type.Optional(
      Type.Array(Code, { maxItems: 2000, description: 'Only of these; all of the schedule when absent' }),
    ),
  },
  strict,
);
export type SetZipQuery = Static<typeof SetZipQuery>;
