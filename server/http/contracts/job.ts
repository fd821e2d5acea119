import { type Static, Type } from 'typebox';
import { JOB_STATES } from '../../core/job/job.ts';
import { IMAGE_FORMATS, SHADOWS, VIEWS } from '../../core/picture/picture.ts';
import { Pixels, Scale, ShotView } from './picture.ts';
import { CheckSetKind } from './schedule.ts';
import { Code, Count, Next, nullable, pageFields, type ReadonlyStatic, ref, strict, Url } from './schema-parts.ts';

const pictures = {
  sizes: Type.Optional(Type.Array(Pixels, { minItems: 1, maxItems: 20, uniqueItems: true })),
  formats: Type.Optional(Type.Array(Type.Enum([...IMAGE_FORMATS]), { minItems: 1, maxItems: 3, uniqueItems: true })),
  ground: Type.Optional(
    Type.String({
      maxLength: 20,
      description: 'Background: transparent (white in JPEG), white, or a colour as rrggbb',
    }),
  ),
  shadow: Type.Optional(Type.Enum([...SHADOWS])),
  scale: Type.Optional(Scale),
};

export const ProductPicturesBody = Type.Object(
  {
    variants: Type.Optional(Type.Array(Code, { minItems: 1, maxItems: 20_000, description: 'Default: all of them' })),
    checkSet: Type.Optional({
      ...CheckSetKind,
      description: 'A check set instead of variants. Dyeworks does not add it to the schedule',
    }),
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
    ...pageFields(200, 'Default: 20'),
  },
  strict,
);
export type JobListQuery = Static<typeof JobListQuery>;

export const JobPicturesQuery = Type.Object(
  {
    after: Type.Optional(
      Type.Integer({ minimum: 0, description: 'The `next` of the answer before. Default: from the first' }),
    ),
    limit: Type.Optional(Type.Integer({ minimum: 1, maximum: 1000, description: 'Default 200' })),
  },
  strict,
);
export type JobPicturesQuery = Static<typeof JobPicturesQuery>;

export const JobEventsQuery = Type.Object(
  {
    after: Type.Optional(
      Type.Integer({ minimum: 0, description: 'The part to start from. Default: pictures that arrive from now on' }),
    ),
  },
  strict,
);
export type JobEventsQuery = Static<typeof JobEventsQuery>;

const listed = {
  id: Type.String(),
  kind: Type.Enum(['pictures', 'picture-set', 'delivery-forms']),
  product: nullable(Code, 'Null for the pictures of a line'),
  line: Type.Optional(Code),
  state: Type.Enum([...JOB_STATES]),
  done: Type.Integer({ minimum: 0, description: 'Finished parts, failed ones included' }),
  total: Count,
  failed: Count,
  remainingMs: Type.Optional(Type.Number({ minimum: 0, description: 'Estimated, while the job runs' })),
};

const progress = {
  ...listed,
  productGone: Type.Optional(Type.Literal(true, { description: 'The product was deleted after the job began' })),
  failures: Type.Array(Type.String(), { description: 'One line per failed part, the first hundred' }),
};

const job = {
  ...progress,
  request: Type.Object(
    {
      sizes: Type.Optional(Type.Array(Type.Number())),
      formats: Type.Optional(Type.Array(Type.Enum([...IMAGE_FORMATS]))),
      views: Type.Optional(Type.Array(Type.String())),
      ground: Type.Optional(Type.String()),
      shadow: Type.Optional(Type.Enum([...SHADOWS])),
      scale: Type.Optional(Scale),
      leftOut: Type.Optional(
        Type.Array(Type.Object({ product: Code, reason: Type.String() }, strict), {
          description: 'Products of the line without pictures to make, and why',
        }),
      ),
      set: Type.Optional(Type.Unknown({ description: 'The picture set at that time' })),
      kept: Type.Optional(Count),
      delivery: Type.Optional(Type.Integer({ minimum: 1, description: 'The delivery whose forms the job makes' })),
      forms: Type.Optional(Type.Array(Type.String())),
    },
    { ...strict, description: 'The pictures or files that the job makes, without its list of parts' },
  ),
};

export const JobAnswer = Type.Object(job, { ...strict, $id: 'Job' });
export type JobAnswer = ReadonlyStatic<typeof JobAnswer>;

/** A job that makes the missing files of a picture set. */
export const SetJobAnswer = Type.Object(
  { ...job, kept: Type.Integer({ minimum: 0, description: 'Files that existed before' }) },
  strict,
);
export type SetJobAnswer = ReadonlyStatic<typeof SetJobAnswer>;

export const JobListAnswer = Type.Object(
  { jobs: Type.Array(Type.Object(listed, strict), { description: 'Newest first' }), next: Next },
  strict,
);
export type JobListAnswer = ReadonlyStatic<typeof JobListAnswer>;

export const JobPicture = Type.Object(
  {
    part: Type.Integer({ minimum: 0, description: 'Its place in the job, from 0' }),
    product: Code,
    variant: Type.String({ description: 'Code of the variant, or of the row of a check set' }),
    view: Type.String(),
    sizePx: Count,
    format: Type.Enum([...IMAGE_FORMATS]),
    url: Url,
  },
  { ...strict, $id: 'JobPicture', description: 'A finished picture of a job' },
);
export type JobPicture = ReadonlyStatic<typeof JobPicture>;

export const JobPicturesAnswer = Type.Object(
  {
    pictures: Type.Array(ref(JobPicture), { description: 'In the order of the job, without failed ones' }),
    next: Type.Integer({ minimum: 0, description: 'The `after` of the next call' }),
  },
  strict,
);
export type JobPicturesAnswer = ReadonlyStatic<typeof JobPicturesAnswer>;

/**
 * Data of a server-sent event: `progress` while the job runs, `end` when it has ended, `closing` when the service stops
 * first; the job then continues after the restart.
 */
export const JobEvent = Type.Object(
  {
    ...progress,
    arrived: Type.Array(ref(JobPicture), {
      description: 'Pictures since the last event, at most fifty. More come with the next event',
    }),
  },
  { ...strict, $id: 'JobEvent', description: 'Data of each server-sent event' },
);
export type JobEvent = ReadonlyStatic<typeof JobEvent>;
