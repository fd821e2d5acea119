import { type Ground, type ImageFormat, PICTURE_SIZE_PX, type Shadow, type ShotView } from '../picture/picture.ts';

/** Part numbers from the first up to, but not including, the second. */
type PartRange = readonly [from: number, end: number];

/**
 * A set of parts of a job: ascending ranges that neither touch nor overlap. A job mostly runs from the front, so twenty
 * thousand parts are a handful of ranges.
 */
export type PartRanges = readonly PartRange[];

/** The ranges with one part more; the same ranges where it is already in them. */
export function addPart(ranges: PartRanges, part: number): PartRanges {
  if (hasPart(ranges, part)) return ranges;
  const before = ranges.filter(([, end]) => end < part);
  const after = ranges.filter(([from]) => from > part + 1);
  const touching = ranges.slice(before.length, ranges.length - after.length);
  const from = Math.min(part, ...touching.map(([first]) => first));
  const end = Math.max(part + 1, ...touching.map(([, last]) => last));
  return [...before, [from, end], ...after];
}

export function hasPart(ranges: PartRanges, part: number): boolean {
  return ranges.some(([from, end]) => from <= part && part < end);
}

export function countParts(ranges: PartRanges): number {
  return ranges.reduce((sum, [from, end]) => sum + end - from, 0);
}

/** Number of parts from the very first on, without a gap. */
export function countLeading(ranges: PartRanges): number {
  return ranges[0]?.[0] === 0 ? ranges[0][1] : 0;
}

/** The first part from `start` on that is not in the ranges. */
export function findOpenPart(ranges: PartRanges, start: number): number {
  return ranges.find(([from, end]) => from <= start && start < end)?.[1] ?? start;
}

export const JOB_STATES = ['queued', 'running', 'done', 'failed', 'cancelled'] as const;
type JobState = (typeof JOB_STATES)[number];

/** A long-running job, as its caller sees it. */
export interface Job {
  readonly id: string;
  readonly kind: 'pictures' | 'picture-set' | 'delivery-forms';
  /** Null where the job is about several products: the pictures of a line. */
  readonly product: string | null;
  /**
   * The product was deleted meanwhile. A later product of the same code is another one, and the job does not belong to
   * it.
   */
  readonly productGone?: true;
  /** Set where the job is about a line. */
  readonly line?: string;
  readonly state: JobState;
  /** Number of finished parts, including those that failed. */
  readonly done: number;
  readonly total: number;
  /** Number of failed parts, and a line for each of the first hundred; equal lines occur once. */
  readonly failed: number;
  readonly failures: readonly string[];
  /** Finished parts; several run at once, so they do not end in the order they began. */
  readonly finished: PartRanges;
  /** Finished parts that failed. */
  readonly failedParts: PartRanges;
  /** Milliseconds left at the pace of the latest parts, while the job runs and after its first parts. Not stored. */
  readonly remainingMs?: number;
  /** The request: enough to continue after a restart. */
  readonly request: unknown;
}

/** A job in a list: without its request and its failures. */
export interface ListedJob
  extends Pick<Job, 'id' | 'kind' | 'product' | 'line' | 'state' | 'done' | 'total' | 'failed' | 'remainingMs'> {
  /** Grows from job to job. */
  readonly place: number;
}

/** Which jobs to list. With a product or a line, only those of that line, or of that product while it exists. */
export interface JobFilter {
  readonly product?: string;
  readonly line?: string;
  /** Only jobs before this place. */
  readonly before?: number;
}

/** Stores jobs across restarts. */
export interface JobStore {
  add(job: Job): Promise<void>;
  /** Stores state and progress; the request does not change. */
  saveProgress(job: Job): Promise<void>;
  get(id: string): Promise<Job | null>;
  /** Queued or running jobs, oldest first. */
  listOpen(): Promise<Job[]>;
  /** The latest jobs, newest first. */
  listLast(limit: number, of?: JobFilter): Promise<ListedJob[]>;
}

/** A row of a check set. It is not in a schedule, so the job stores its choices. */
export interface PicturedRow {
  readonly code: string;
  /** A finish by slot. */
  readonly choices: Readonly<Record<string, string>>;
}

/** The pictures of one product: variants of its schedule by code, in their state when the job reaches them, or rows. */
export type PicturedProduct =
  | { readonly product: string; readonly variants: readonly string[] }
  | { readonly product: string; readonly rows: readonly PicturedRow[] };

/** The pictures of a job: every combination of variant, view, size and format. */
export interface PicturesRequest {
  /** Products, one after the other. */
  readonly of: readonly PicturedProduct[];
  readonly sizes: readonly number[];
  readonly formats: readonly ImageFormat[];
  readonly views: readonly ShotView[];
  readonly ground: Ground;
  readonly shadow: Shadow;
  /** `line`: all products of the line to one scale. By default each product fills its own frame. */
  readonly scale?: 'product' | 'line';
  /** Products of the line that get no pictures, and why. */
  readonly leftOut?: readonly { readonly product: string; readonly reason: string }[];
}

/** One picture of a job. */
export interface PicturePart {
  readonly product: string;
  /** Code of the variant, or of the row of a check set. */
  readonly variant: string;
  /** The choices of a row; null for a variant of the schedule. */
  readonly choices: Readonly<Record<string, string>> | null;
  readonly view: ShotView;
  readonly sizePx: number;
  readonly format: ImageFormat;
}

/** The defaults of a request. */
export const PICTURES_DEFAULT = {
  sizes: [PICTURE_SIZE_PX.default],
  formats: ['png'],
  views: ['three-quarter'],
  ground: 'transparent',
  shadow: 'with',
} as const satisfies Omit<PicturesRequest, 'of'>;

/** Reads the request of a job, including jobs from the time when a job had one product. */
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
 * Picture number `part`, from 0. Products change slowest, then views: the studio holds a product, and computes the
 * light of a view once for as long as the view stays.
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
 * The finished pictures, in the job's order: those from part `after` on up to the first that is not finished.
 * `next` is the value to ask for next.
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
