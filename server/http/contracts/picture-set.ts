import { type Static, Type } from 'typebox';
import { GS1_CAVEAT } from '../../core/gs1.ts';
import { SET_FORMATS, SET_SHADOWS } from '../../core/picture/picture-set.ts';
import { Findings } from './finding.ts';
import { Scale } from './picture.ts';
import {
  Code,
  Count,
  Digest,
  Flag,
  mapOf,
  Name,
  nullable,
  type ReadonlyStatic,
  ref,
  strict,
  Url,
} from './schema-parts.ts';

const Word = Type.String({ maxLength: 100 });
/** The core checks the range of each size: it explains that better than a schema can. */
const Amount = Type.Number();

const definition = {
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
      description: 'Instead of views, of every finish in the schedule: chip, sphere, panel, cutting',
    }),
  ),
  sizes: Type.Optional(Type.Array(Amount, { maxItems: 20, description: 'Squares: length of a side in pixels' })),
  widthPx: Type.Optional({ ...Amount, description: 'A free size: widthPx and heightPx' }),
  heightPx: Type.Optional(Amount),
  widthMm: Type.Optional({ ...Amount, description: 'A printed size: widthMm, heightMm and ppi' }),
  heightMm: Type.Optional(Amount),
  ppi: Type.Optional(Amount),
  bleedMm: Type.Optional({ ...Amount, description: 'Added on all four edges of a printed size. Default 0' }),
  format: Type.Enum([...SET_FORMATS]),
  quality: Type.Optional({ ...Amount, description: 'JPEG and WebP, 1 to 100. Default 90' }),
  ground: Type.Optional(
    Type.String({ maxLength: 40, description: 'Background: transparent, white (default) or #rrggbb' }),
  ),
  shadow: Type.Optional(
    Type.Enum([...SET_SHADOWS], {
      description: 'separate: the product without its shadow, and the shadow in a second file',
    }),
  ),
  fill: Type.Optional(
    Type.Object(
      { minPercent: Amount, maxPercent: Amount },
      { ...strict, description: 'How much of the frame the product fills. Default 75 to 90' },
    ),
  ),
  scale: Type.Optional(Scale),
  names: Type.Optional(
    Type.String({
      maxLength: 1000,
      description:
        'Template of file names: {product}, {line}, {variant}, {name}, {finish}, {view}, {size}, {format}, {gtin}, {index}',
    }),
  ),
  gs1Names: Type.Optional(Type.Boolean({ description: `GS1 names for variants with a GTIN. ${GS1_CAVEAT}` })),
  profile: Type.Optional(Type.Enum(['srgb'])),
};

export const PictureSetBody = Type.Object(definition, strict);
export type PictureSetBody = Static<typeof PictureSetBody>;

export const SetPlanQuery = Type.Object(
  { files: Type.Optional({ ...Flag, description: '0: only the totals, without the list of files' }) },
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
      Type.Array(Code, { maxItems: 2000, description: 'Only these variants. Default: all of the schedule' }),
    ),
  },
  strict,
);
export type SetZipQuery = Static<typeof SetZipQuery>;

export const PictureSetAnswer = Type.Object(
  {
    code: Code,
    ...definition,
    ready: Type.Boolean({ description: 'True for a built-in set' }),
    replacesReady: Type.Boolean({
      description: 'True if it replaces a built-in set, which comes back when this one is deleted',
    }),
  },
  { ...strict, $id: 'PictureSet' },
);
export type PictureSetAnswer = ReadonlyStatic<typeof PictureSetAnswer>;

export const PictureSetListAnswer = Type.Object(
  { sets: Type.Array(ref(PictureSetAnswer)), tags: mapOf(Type.String(), 'Code to tag, for If-Match') },
  strict,
);
export type PictureSetListAnswer = ReadonlyStatic<typeof PictureSetListAnswer>;

const SetFile = Type.Object(
  {
    name: Type.String(),
    namedBy: Type.Enum(['template', 'gs1']),
    variant: nullable(Code, 'Null for swatches'),
    finish: nullable(Code, 'The finish of a swatch. Null for variants'),
    view: Type.String(),
    layer: Type.Enum(['whole', 'bare', 'shadow'], {
      description: 'The whole picture, the product without its shadow, or the shadow alone',
    }),
    widthPx: Count,
    heightPx: Count,
    ppi: nullable(Type.Number()),
    made: Type.Boolean({ description: 'True if the file exists' }),
    sha256: Type.Optional(Digest),
    bytes: Type.Optional(Count),
    address: Type.String({ description: 'URL path of the file. A call to it makes the file' }),
  },
  strict,
);
export type SetFileAnswer = ReadonlyStatic<typeof SetFile>;

/** The files of a picture set for one product. */
export const SetPlanAnswer = Type.Object(
  {
    set: Code,
    product: Code,
    total: Count,
    made: Type.Integer({ minimum: 0, description: 'Files that exist' }),
    bytes: Type.Integer({ minimum: 0, description: 'Total size of the files that exist' }),
    files: Type.Optional(
      Type.Array(SetFile, { description: 'By variant, then view, then size. Left out with files=0' }),
    ),
    findings: Findings,
    zip: Url,
  },
  strict,
);
export type SetPlanAnswer = ReadonlyStatic<typeof SetPlanAnswer>;
