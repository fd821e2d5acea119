import type { PictureSetAnswer } from '../../server/http/picture-answers.ts';

const FORMAT_WORDS: Readonly<Record<PictureSetAnswer['format'], string>> = {
  png: 'PNG',
  webp: 'WebP',
  jpg: 'JPEG',
  tiff: 'TIFF',
};

/** What the files are pictures of: “Front, side, close on seat” or “Swatches: chip, sphere”. */
export function describeSubject({ views = [], swatches }: PictureSetAnswer): string {
  if (swatches) return `Swatches: ${swatches.join(', ')}`;
  const words = views.map((view) => (view.startsWith('slot:') ? `close on ${view.slice('slot:'.length)}` : view));
  const whole = words.join(', ');
  return whole.charAt(0).toUpperCase() + whole.slice(1);
}

export function describeSize({ sizes, widthPx, heightPx, widthMm, heightMm, ppi, bleedMm }: PictureSetAnswer): string {
  if (sizes) return `${sizes.map((side) => `${side} × ${side}`).join(', ')} px`;
  if (widthPx !== undefined) return `${widthPx} × ${heightPx} px`;
  const bleed = bleedMm ? `, ${bleedMm} mm bleed` : '';
  return `${widthMm} × ${heightMm} mm at ${ppi} ppi${bleed}`;
}

export function describeFormat({ format, quality }: PictureSetAnswer): string {
  return quality === undefined ? FORMAT_WORDS[format] : `${FORMAT_WORDS[format]}, quality ${quality}`;
}

/** Ground and shadow: “on white, with its shadow”. */
export function describeGround({ ground, shadow, swatches }: PictureSetAnswer): string {
  const on = ground === 'transparent' ? 'see-through' : `on ${ground ?? 'white'}`;
  const first = on.charAt(0).toUpperCase() + on.slice(1);
  if (swatches) return first;
  const words = { with: 'with its shadow', without: 'no shadow', separate: 'the shadow in a file of its own' };
  return `${first}, ${words[shadow ?? 'with']}`;
}
