import type { SwatchKind, View } from '../../server/core/picture/picture.ts';
import type { PictureSetAnswer } from '../../server/http/contracts/picture-set.ts';
import { pictureSetsTexts as texts } from '../texts/pictures.ts';

/** The views or the kinds of swatches: “Front, side, close-up of seat” or “Swatches: chip, sphere”. */
export function describeSubject({ views = [], swatches }: PictureSetAnswer): string {
  if (swatches) return texts.swatchList(swatches.map((kind) => texts.swatchNames[kind as SwatchKind].toLowerCase()));
  const names = views.map((view) =>
    view.startsWith('slot:') ? texts.closeUpOf(view.slice('slot:'.length)) : texts.viewNames[view as View],
  );
  // one list, so that only its first word has a capital
  return names.map((name, at) => (at === 0 ? name : name.charAt(0).toLowerCase() + name.slice(1))).join(', ');
}

export function describeSize({ sizes, widthPx, heightPx, widthMm, heightMm, ppi, bleedMm }: PictureSetAnswer): string {
  if (sizes) return texts.squares(sizes);
  if (widthPx !== undefined && heightPx !== undefined) return texts.pixels(widthPx, heightPx);
  return texts.print(widthMm!, heightMm!, ppi!, bleedMm ?? 0);
}

export function describeFormat({ format, quality }: PictureSetAnswer): string {
  const name = texts.shortFormats[format];
  return quality === undefined ? name : texts.withQuality(name, quality);
}

/** The background and the shadow: “On white, with shadow”. */
export function describeBackground({ ground = 'white', shadow = 'with', swatches }: PictureSetAnswer): string {
  const background =
    ground === 'transparent'
      ? texts.backgrounds.transparent
      : texts.onBackground(ground === 'white' ? texts.white : ground);
  return swatches ? background : `${background}, ${texts.shadowNotes[shadow]}`;
}
