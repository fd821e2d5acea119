import { formatColour, METAL_CHIP, sayConverted, sayLab } from '../finish/format-colour.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';

/**
 * The colour as it was specified, and after “as” what it was converted to: in one line for sRGB, whose white is D65 for 2°
 * by its definition, and in two for others. No arrow: the face of the sheets has none, and another machine's would differ.
 */
export function formatSpecified(
  resolved: Pick<ResolvedFinish, 'specification' | 'specifiedLab' | 'includedLab' | 'metalness'>,
): string[] {
  const { specification: colour } = resolved;
  const converted = sayConverted(colour, resolved);
  const given = formatColour(colour);
  const said =
    colour && 'hex' in colour
      ? [`${given} as ${sayLab(resolved.specifiedLab)}`]
      : converted === null
        ? [given]
        : [given, `as ${converted}`];
  return resolved.metalness === 1 ? [...said, METAL_CHIP] : said;
}

/** What is delivered and how far it is from the specified colour; what makes it so, where that is more than rounding. */
export function formatDistance({
  delivered,
  estimated,
  outOfGamutDeltaE,
}: Pick<ResolvedFinish, 'delivered' | 'estimated' | 'outOfGamutDeltaE'>): string {
  if (!delivered) return 'delivered colour not measured';
  const why = estimated ? ` ± ${estimated.typicalDeltaE}, from 10°` : outOfGamutDeltaE >= 0.5 ? ', beyond sRGB' : '';
  return `${delivered.hex} · ΔE00 ${delivered.deltaE.toFixed(1)}${why}`;
}

/**
 * Gloss units where a meter reads them, else that none are read. What is computed of a roughness, or of a reading at
 * another angle, is “about”: it rests on openings of the meter that are not confirmed (`APERTURE_CAVEAT`).
 */
export function formatGloss(resolved: Pick<ResolvedFinish, 'gu60' | 'gloss'>): string {
  const { gu60, gloss } = resolved;
  if (gu60 === null) return 'gloss by sample';
  if (isGlossRead(resolved)) return `${Math.round(gu60)} GU at 60°`;
  const stated = gloss?.kind === 'inverted' ? ` (${gloss.gu} at ${gloss.angle}°)` : '';
  return `about ${Math.round(gu60)} GU at 60°${stated}`;
}

/** Whether the gloss at 60° is what was read there, and not computed. */
export function isGlossRead({ gloss }: Pick<ResolvedFinish, 'gloss'>): boolean {
  return gloss?.kind === 'inverted' && gloss.angle === 60;
}
