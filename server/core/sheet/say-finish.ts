import type { ResolvedFinish } from '../finish/resolve-finish.ts';

/** CIE Lab of what was specified, under D65 for 2°, to a tenth and with a real minus sign. */
export function sayColour({ specifiedLab: [l, a, b] }: Pick<ResolvedFinish, 'specifiedLab'>): string {
  return `L* ${figure(l)}  a* ${figure(a)}  b* ${figure(b)}`;
}

/** What is delivered and how far it is from the specified colour; what makes it so, where that is more than rounding. */
export function sayDistance({
  delivered,
  estimated,
  outOfGamutDeltaE,
}: Pick<ResolvedFinish, 'delivered' | 'estimated' | 'outOfGamutDeltaE'>): string {
  if (!delivered) return 'delivered colour not measured';
  const why = estimated ? ` ± ${estimated.typicalDeltaE}, from 10°` : outOfGamutDeltaE >= 0.5 ? ', beyond sRGB' : '';
  return `${delivered.hex} · ΔE00 ${delivered.deltaE.toFixed(1)}${why}`;
}

/** Gloss units where a meter reads them, else that none are read. */
export function sayGloss({ gu60, gloss }: Pick<ResolvedFinish, 'gu60' | 'gloss'>): string {
  if (gu60 === null) return 'gloss by sample';
  const stated = gloss?.kind === 'inverted' && gloss.angle !== 60 ? ` (${gloss.gu} at ${gloss.angle}°)` : '';
  return `${Math.round(gu60)} GU at 60°${stated}`;
}

function figure(value: number): string {
  const text = value.toFixed(1);
  return text === '-0.0' ? '0.0' : text.replace('-', '−');
}
