/** The plain deadline is for pictures of up to this many pixels; see `RendererOptions.shotTimeoutMs`. */
const PLAIN_PIXELS = 2048 * 2048;

/**
 * Time that each picture of a sheet adds. Printing one takes some hundredths of a second, and several times that on a
 * busy machine. Too little time would end a working browser. Too much only makes others wait longer behind a hung one.
 */
const SHEET_PICTURE_MS = 250;

/**
 * Time for a picture: the plain one up to 2048 × 2048 px, and in proportion to the pixels above that.
 * @param stills the work, in stills of sixteen subsamples
 */
export function getShotTimeoutMs(widthPx: number, heightPx: number, plainMs: number, stills = 1): number {
  return Math.ceil(plainMs * Math.max(1, (widthPx * heightPx) / PLAIN_PIXELS) * stills);
}

/** Time for a sheet with this many pictures. */
export function getSheetTimeoutMs(pictures: number, plainMs: number): number {
  return plainMs + pictures * SHEET_PICTURE_MS;
}

/** Work that did not end before its deadline. */
export class Overdue extends Error {
  override readonly name = 'Overdue';
}

/**
 * Waits for work up to its deadline. It does not stop the work itself.
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
    // After the deadline the work fails with its browser, and nobody reads its error.
    work.catch(() => undefined);
  }
}
