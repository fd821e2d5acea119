import { isPrinted, type PictureSet } from './picture-set.ts';
import type { GivenPictureSet } from './read-picture-set.ts';

/** A set written the way one is handed in: what is read of it is the same set. */
export function toGivenSet({ code: _, subject, frame, ...rest }: PictureSet): GivenPictureSet {
  return {
    ...rest,
    ...(subject.kind === 'variants' ? { views: subject.views } : { swatches: subject.swatches }),
    ...(isPrinted(frame) || 'widthPx' in frame ? frame : { sizes: frame.sizesPx }),
  };
}
