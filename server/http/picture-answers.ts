import type { GivenPictureSet } from '../core/picture/read-picture-set.ts';
import type { Job, ListedJob } from '../core/ports/jobs.ts';
import type { Finding } from '../core/product/finding.ts';

// JSON answers about picture sets and jobs.

/** A picture set written the way one is handed in. */
export interface PictureSetAnswer extends GivenPictureSet {
  readonly code: string;
  /** One of those that are there without anybody having made one. */
  readonly ready: boolean;
  /** Stored in the place of a ready one, which comes back when this is deleted. */
  readonly replacesReady: boolean;
}

export interface PictureSetListAnswer {
  readonly sets: readonly PictureSetAnswer[];
}

/** What a picture set comes to for a product. */
export interface SetPlanAnswer {
  readonly set: string;
  readonly product: string;
  readonly total: number;
  /** How many are made already. */
  readonly made: number;
  /** Bytes of those. */
  readonly bytes: number;
  /** In the order of the variants, then views, then sizes; left out with `files=0`. */
  readonly files?: readonly SetFileAnswer[];
  readonly findings: readonly Finding[];
  /** Address of all files as one zip. */
  readonly zip: string;
}

export interface SetFileAnswer {
  readonly name: string;
  readonly namedBy: 'template' | 'gs1';
  /** Null for swatches. */
  readonly variant: string | null;
  /** Of a swatch; null for variants, whose finishes the schedule says. */
  readonly finish: string | null;
  readonly view: string;
  /** The whole picture, the product without its shadow, or the shadow alone. */
  readonly layer: 'whole' | 'bare' | 'shadow';
  readonly widthPx: number;
  readonly heightPx: number;
  readonly ppi: number | null;
  readonly made: boolean;
  /** Of a file that is made. */
  readonly sha256?: string;
  readonly bytes?: number;
  /** Address of the file; it is made when it is asked for. */
  readonly address: string;
}

/** A job that makes what is not there yet. */
export interface SetJobAnswer extends JobAnswer {
  /** Files that were made before. */
  readonly kept: number;
}

/** A job as it is told: which parts are over is the service's own matter. */
export type JobAnswer = Omit<Job, 'finished' | 'failedParts'>;

export interface JobListAnswer {
  /** The latest first. */
  readonly jobs: readonly ListedJob[];
}

/** A picture of a job that is there. */
export interface ArrivedPicture {
  /** Its place in the job, from 0. */
  readonly part: number;
  readonly product: string;
  /** Code of the variant, or of the row of a check set. */
  readonly variant: string;
  readonly view: string;
  readonly sizePx: number;
  readonly format: string;
  /** Address of its bytes. */
  readonly url: string;
}

export interface JobPicturesAnswer {
  /** In the job's order; one that did not come out is left out. */
  readonly pictures: readonly ArrivedPicture[];
  /** To be asked for as `after` next. */
  readonly next: number;
}

/** What the events of a job carry: `progress` while it goes on, `end` when it has ended. */
export interface JobEvent extends Omit<JobAnswer, 'request'> {
  /** What has come since the event before, at most fifty; what is more comes with the next event. */
  readonly arrived: readonly ArrivedPicture[];
}
