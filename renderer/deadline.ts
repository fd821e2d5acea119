/** Pixels of the picture that the plain deadline is meant for; see `RendererOptions.shotTimeoutMs`. */
const PLAIN_PIXELS = 2048 * 2048;

/**
 * What each picture of a sheet may add. Printing takes some hundredths of a second for one, on a busy machine several
 * times that; too little would end a browser that works, too much would only keep what waits behind a hung one waiting.
 */
const SHEET_PICTURE_MS = 250;

/**
 * Time for a picture: the plain one up to 2048 × 2048 px, and in proportion to the pixels above that.
 * @param stills of sixteen subsamples that it is drawn as
 */
export function getShotTimeoutMs(widthPx: number, heightPx: number, plainMs: number, stills = 1): number {
  return Math.ceil(plainMs * Math.max(1, (widthPx * heightPx) / PLAIN_PIXELS) * stills);
}

/** Time for a sheet with so many pictures on it. */
export function getSheetTimeoutMs(pictures: number, plainMs: number): number {
  return plainMs + pictures * SHEET_PICTURE_MS;
}

/** Work that was not done at its deadline. */
export class Overdue extends Error {
  override readonly name = 'Overdue';
}

/**
 * Waits for work up to its deadline; the work itself is not ended by that.
 * @throws Overdue
 */
export async function withDeadline<Result>(work: Promise<Result>, timeoutMs: number): Promise<Result> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Overdue(`Nothing came within ${timeoutMs / 1000} s.`)), timeoutMs);
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(timer);
    // when the deadline won, the work fails with its browser: nothing waits for it any more
    work.catch(() => undefined);
  }
}
