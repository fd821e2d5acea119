import { type Finding, makeFinding } from '../product/finding.ts';
import type { Article, Tile } from './finish.ts';

/**
 * Pixels a thread takes up at least: a weave is told by a thread and the gap beside it, and what is finer than two pixels
 * for each beats with the raster (the sampling theorem gives one per half period; a second leaves room for the filter).
 */
export const THREAD_PX = 2;

/** A weave as it is laid, and how large a picture shows it. */
export interface WeaveInPicture {
  /** Finish or article it is, for the message. */
  readonly finish: string;
  /** Slot or part that wears it. */
  readonly where: string;
  /** Width of one repeat of the maps, mm. */
  readonly tileWidthMm: number;
  /** Threads across that repeat. */
  readonly threadsPerTile: number;
  /** Pixels to a millimetre of the part in the picture, head-on: what turns away from the camera is finer still. */
  readonly pxPerMm: number;
}

/** Threads across one repeat of a cloth with so many to the centimetre. */
export function countThreads(tileWidthMm: number, threadsPerCm: number): number {
  return (tileWidthMm / 10) * threadsPerCm;
}

/**
 * The finding `moire` where a thread is under two pixels, with the scale that would show it; null where it is not, and
 * where a figure is no positive number, so that nothing can be said.
 */
export function checkMoire({ finish, where, tileWidthMm, threadsPerTile, pxPerMm }: WeaveInPicture): Finding | null {
  if (![tileWidthMm, threadsPerTile, pxPerMm].every((value) => Number.isFinite(value) && value > 0)) return null;
  const threadMm = tileWidthMm / threadsPerTile;
  const threadPx = threadMm * pxPerMm;
  if (threadPx >= THREAD_PX) return null;
  const needed = THREAD_PX / threadMm;
  return makeFinding(
    'moire',
    { finish, threadMm, threadPx, leastPx: THREAD_PX, times: needed / pxPerMm },
    {
      where,
      place: finish,
      seen: { threadPx, pxPerMm },
      expected: { threadPx: `${THREAD_PX} or more`, pxPerMm: needed },
    },
  );
}

/** A finish as it is laid, in a picture whose scale is known. */
export interface LaidFinish {
  readonly finish: string;
  readonly article: Pick<Article, 'threadsPerCm'> | null | undefined;
  /** Null for a finish without maps, which shows no threads. */
  readonly tile: Tile | null;
  /** Slot or piece that wears it. */
  readonly where: string;
  /** Null where the scale is not known. */
  readonly pxPerMm: number | null;
}

/** The finding `moire` where a cloth's threads are too fine for the picture, as a list; empty where nothing can be said. */
export function checkWeave({ finish, article, tile, where, pxPerMm }: LaidFinish): Finding[] {
  if (!tile || pxPerMm === null || !article?.threadsPerCm) return [];
  const threadsPerTile = countThreads(tile.widthMm, article.threadsPerCm);
  const finding = checkMoire({ finish, where, tileWidthMm: tile.widthMm, threadsPerTile, pxPerMm });
  return finding ? [finding] : [];
}
