import { type Static, Type } from 'typebox';
import { IMAGE_FORMATS, SHADOWS, VIEWS } from '../../core/picture/picture.ts';
import { Code, strict } from './common.ts';
import { Pixels, ShotView } from './picture.ts';

const pictures = {
  sizes: Type.Optional(Type.Array(Pixels, { minItems: 1, maxItems: 20, uniqueItems: true })),
  formats: Type.Optional(Type.Array(Type.Enum([...IMAGE_FORMATS]), { minItems: 1, maxItems: 3, uniqueItems: true })),
  ground: Type.Optional(
    Type.String({ maxLength: 20, description: 'transparent, which is white in JPEG, white, or a colour as rrggbb' }),
  ),
  shadow: Type.Optional(Type.Enum([...SHADOWS])),
  scale: Type.Optional(
    Type.Enum(['product', 'line'], {
      description: 'line: all products of the line to one scale, at which the largest fills the frame',
    }),
  ),
};

export const ProductPicturesBody = Type.Object(
  {
    variants: Type.Optional(Type.Array(Code, { minItems: 1, maxItems: 20_000, description: 'All when left out' })),
    checkSet: Type.Optional(
      Type.Enum(['each-finish', 'pairs'], {
        description: 'In the place of variants: a check set, which is not added to the schedule',
      }),
    ),
    views: Type.Optional(Type.Array(ShotView, { minItems: 1, maxItems: 40, uniqueItems: true })),
    ...pictures,
  },
  strict,
);
export type ProductPicturesBody = Static<typeof ProductPicturesBody>;

export const LinePicturesBody = Type.Object(
  {
    views: Type.Optional(Type.Array(Type.Enum([...VIEWS]), { minItems: 1, maxItems: VIEWS.length, uniqueItems: true })),
    ...pictures,
  },
  strict,
);
export type LinePicturesBody = Static<typeof LinePicturesBody>;

export const JobListQuery = Type.Object(
  {
    product: Type.Optional(Code),
    line: Type.Optional(Code),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 200, description: '20 unless said' })),
  },
  strict,
);
export type JobListQuery = Static<typeof JobListQuery>;

const After = Type.Optional(
  Type.Integer({ minimum: 0, description: 'The `next` of the answer before; from the first when left out' }),
);

export const JobPicturesQuery = Type.Object(
  {
    after: After,
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 1000, description: '200 unless said' })),
  },
  strict,
);
export type JobPicturesQuery = Static<typeof JobPicturesQuery>;

export const JobEventsQuery = Type.Object(
  {
    after: Type.Optional(
      Type.Integer({
        minimum: 0,
        description: 'Tells what arrived from this part on; what arrives from now on when left out',
      }),
    ),
  },
  strict,
);
export type JobEventsQuery = Static<typeof JobEventsQuery>;
