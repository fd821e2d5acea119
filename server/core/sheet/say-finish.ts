import type { ResolvedFinish } from '../finish/resolve-finish.ts';

/** CIE Lab of what was specified, under D65 for 2°, to a tenth and with a real minus sign. */
export function sayColour({ specifiedLab: [l, a, b] }: Pick<ResolvedFinish, 'specifiedLab'>): string {
  return `L* ${figure(l)}  a* ${figure(a)}  b* ${figure(b)}`;
}

/** The printed colour and how far it is from the specified one; what makes it so, where that is more than rounding. */
export function sayDistance({
  hex,
  chipDeltaE,
  estimated,
  outOfGamutDeltaE,
}: Pick<ResolvedFinish, 'hex' | 'chipDeltaE' | 'estimated' | 'outOfGamutDeltaE'>): string {
  const why = estimated ? ` ± ${estimated.typicalDeltaE}, from 10°` : outOfGamutDeltaE >= 0.5 ? ', beyond sRGB' : '';
  return `${hex} · ΔE00 ${chipDeltaE.toFixed(1)}${why}`;
}

/** The mean of a pattern, where it is another colour than the one printed in figures above it. */
export function sayPattern(
  mean: { readonly hex: string; readonly deltaE: number } | null,
  { hex }: Pick<ResolvedFinish, 'hex'>,
): string {
  if (!mean) return 'mean of the pattern not measured';
  return mean.hex === hex ? 'mean of the pattern' : `pattern’s mean ${mean.hex} · ΔE00 ${mean.deltaE.toFixed(1)}`;
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
