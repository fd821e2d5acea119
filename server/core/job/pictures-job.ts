import { type Ground, type ImageFormat, PICTURE_SIZE_PX, type Shadow, type ShotView } from '../picture/picture.ts';
import { countLeading, hasPart, type Job } from './job.ts';

/** A row of a check set: it stands in no schedule, so that what it wears is kept with the job. */
export interface PicturedRow {
  readonly code: string;
  /** A finish by slot. */
  readonly choices: Readonly<Record<string, string>>;
}

/** What is pictured of one product: variants of its schedule by code, worn as they are when their turn comes, or rows. */
export type PicturedProduct =
  | { readonly product: string; readonly variants: readonly string[] }
  | { readonly product: string; readonly rows: readonly PicturedRow[] };

/** What a job of pictures is to make: every combination of variant, view, size and format. */
export interface PicturesRequest {
  /** Products one after the other. */
  readonly of: readonly PicturedProduct[];
  readonly sizes: readonly number[];
  readonly formats: readonly ImageFormat[];
  readonly views: readonly ShotView[];
  readonly ground: Ground;
  readonly shadow: Shadow;
  /** `line`: all products of the line to one scale. Each fills the frame by itself where nothing is said. */
  readonly scale?: 'product' | 'line';
  /** Products of the line that have no pictures to be made, and why. */
  readonly leftOut?: readonly { readonly product: string; readonly reason: string }[];
}

/** One picture of a job. */
export interface PicturePart {
  readonly product: string;
  /** Code of the variant, or of the row of a check set. */
  readonly variant: string;
  /** What a row wears; null for a variant of the schedule. */
  readonly choices: Readonly<Record<string, string>> | null;
  readonly view: ShotView;
  readonly sizePx: number;
  readonly format: ImageFormat;
}

/** What is taken where a call names nothing. */
export const PICTURES_DEFAULT = {
  sizes: [PICTURE_SIZE_PX.default],
  formats: ['png'],
  views: ['three-quarter'],
  ground: 'transparent',
  shadow: 'with',
} as const satisfies Omit<PicturesRequest, 'of'>;

/** The request of a job, also of one that was added when a job was of one product. */
export function readPicturesRequest({ product, request }: Pick<Job, 'product' | 'request'>): PicturesRequest {
  const given = request as PicturesRequest & { readonly variants?: readonly string[] };
  if (given.of) return given;
  return { ...PICTURES_DEFAULT, ...given, of: [{ product: product!, variants: given.variants ?? [] }] };
}

const listRows = (pictured: PicturedProduct): readonly (string | PicturedRow)[] =>
  'rows' in pictured ? pictured.rows : pictured.variants;

export function countPictures({ of, sizes, formats, views }: PicturesRequest): number {
  const rows = of.reduce((sum, pictured) => sum + listRows(pictured).length, 0);
  return rows * sizes.length * formats.length * views.length;
}

/**
 * Picture number `part`, from 0. Products change slowest, then views: the studio holds a product, and works out the light
 * of a view once for as long as the view stays.
 */
export function findPart({ of, sizes, formats, views }: PicturesRequest, part: number): PicturePart | null {
  const each = sizes.length * formats.length;
  let at = part;
  for (const pictured of of) {
    const rows = listRows(pictured);
    const pictures = rows.length * views.length * each;
    if (at >= pictures) {
      at -= pictures;
      continue;
    }
    const row = rows[Math.floor(at / each) % rows.length]!;
    return {
      product: pictured.product,
      variant: typeof row === 'string' ? row : row.code,
      choices: typeof row === 'string' ? null : row.choices,
      view: views[Math.floor(at / (each * rows.length))]!,
      sizePx: sizes[Math.floor(at / formats.length) % sizes.length]!,
      format: formats[at % formats.length]!,
    };
  }
  return null;
}

/**
 * The pictures that are there, in the job's order: those from part `after` on up to the first that is still to come.
 * `next` is what to ask for next.
 */
export function listArrived(
  job: Pick<Job, 'kind' | 'product' | 'request' | 'finished' | 'failedParts'>,
  after: number,
  limit: number,
): { readonly pictures: readonly (PicturePart & { readonly part: number })[]; readonly next: number } {
  const end = job.kind === 'pictures' ? countLeading(job.finished) : 0;
  const request = readPicturesRequest(job);
  const pictures: (PicturePart & { part: number })[] = [];
  let part = after;
  for (; part < end && pictures.length < limit; part++) {
    if (hasPart(job.failedParts, part)) continue;
    const picture = findPart(request, part);
    if (picture) pictures.push({ part, ...picture });
  }
  return { pictures, next: part };
}
