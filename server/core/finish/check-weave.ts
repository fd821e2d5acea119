import type { Finding } from '../product/finding.ts';
import { checkMoire, countThreads } from './check-moire.ts';
import type { Article, Tile } from './finish.ts';

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
