import type { Lab } from '../colour/lab.ts';
import type { ColourSpecification, Viewing } from './finish.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/**
 * A colour as its maker stated it, in one short line: `#2f5d73`; `Lab 38.1 −8.2 −15.4, D65/10°, di:8`; `spectrum
 * 400–700 nm, every 10 nm`; or a note that it is the map's.
 */
export function formatColour(colour: ColourSpecification | null): string {
  if (!colour) return 'mean of the colour map';
  if ('hex' in colour) return colour.hex;
  if ('lab' in colour) return `Lab ${formatValues(colour.lab)}, ${formatViewing(colour)}`;
  if ('xyz' in colour) return `XYZ ${formatValues(colour.xyz)}, ${formatViewing(colour)}`;
  const { startNm, stepNm, values } = colour.spectrum;
  const reach = `spectrum ${startNm}–${startNm + stepNm * (values.length - 1)} nm, every ${stepNm} nm`;
  return colour.geometry ? `${reach}, ${colour.geometry}` : reach;
}

/**
 * The converted colour: CIE Lab under D65 for the 2° observer, to a tenth; null if it was stated this way. A reading
 * that includes the surface reflection is converted to one without it, as a meter at de:8 would read it.
 * @example formatConverted({ hex: '#2f5d73' }, resolved) // 'Lab 36.9 −8.5 −16.3, D65/2°'
 */
export function formatConverted(
  colour: ColourSpecification | null,
  { specifiedLab, includedLab }: Pick<ResolvedFinish, 'specifiedLab' | 'includedLab'>,
): string | null {
  const same =
    colour !== null &&
    'lab' in colour &&
    colour.illuminant === 'D65' &&
    colour.observer === '2deg' &&
    includedLab === null;
  if (same) return null;
  return `${formatLabValues(specifiedLab)}, D65/2°${includedLab === null ? '' : ', de:8'}`;
}

/** CIE Lab to a tenth, with a real minus sign and without a negative zero. */
function formatLabValues(lab: Lab): string {
  const figures = lab.map((value) => (Number(value.toFixed(1)) + 0).toFixed(1).replace('-', '−'));
  return `Lab ${figures.join(' ')}`;
}

/** The flat colour of a metal is its reflectance at normal incidence, as in tables of metals. */
export const METAL_CHIP = 'colour at normal incidence';

/** Values as stated, to four decimals. Further digits are conversion noise. */
function formatValues(values: readonly number[]): string {
  return values.map((value) => String(Number(value.toFixed(4)) + 0).replace('-', '−')).join(' ');
}

function formatViewing({ illuminant, observer, geometry }: Viewing): string {
  const light = `${illuminant}/${observer.replace('deg', '°')}`;
  return geometry ? `${light}, ${geometry}` : light;
}

/**
 * Table columns for the stated colour, beside its conversion: the kind of statement; the hex, the three figures, or the
 * range of the spectrum; illuminant, observer and geometry, empty if not stated.
 */
export const SPECIFIED_COLUMNS = ['specifiedAs', 'specified', 'illuminant', 'observer', 'geometry'] as const;

/** The cells of those columns, with plain minus signs for programs. */
export function listSpecified(colour: ColourSpecification | null): (string | null)[] {
  if (!colour) return ['map', null, null, null, null];
  if ('hex' in colour) return ['hex', colour.hex, null, null, null];
  if ('spectrum' in colour) {
    const { startNm, stepNm, values } = colour.spectrum;
    const reach = `${startNm}-${startNm + stepNm * (values.length - 1)} nm every ${stepNm} nm`;
    return ['spectrum', reach, null, null, colour.geometry ?? null];
  }
  const [way, figures] = 'lab' in colour ? ['lab', colour.lab] : ['xyz', colour.xyz];
  return [way, figures.join(' '), colour.illuminant, colour.observer, colour.geometry ?? null];
}

/**
 * The specified colour, and after “as” its conversion: in one line for sRGB, whose white is D65 for 2° by definition,
 * and in two for others. There is no arrow, because the sheets' typeface has none and fallback fonts differ by machine.
 */
export function formatSpecified(
  resolved: Pick<ResolvedFinish, 'specification' | 'specifiedLab' | 'includedLab' | 'metalness'>,
): string[] {
  const { specification: colour } = resolved;
  const converted = formatConverted(colour, resolved);
  const given = formatColour(colour);
  const said =
    colour && 'hex' in colour
      ? [`${given} as ${formatLabValues(resolved.specifiedLab)}`]
      : converted === null
        ? [given]
        : [given, `as ${converted}`];
  return resolved.metalness === 1 ? [...said, METAL_CHIP] : said;
}

/** The delivered colour and its distance from the specified one, with the cause if it exceeds rounding. */
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
 * Gloss units, or a note that no meter reads this surface. Values computed from a roughness, or from a reading at
 * another angle, are “about”: they depend on openings of the meter that are not confirmed (`APERTURE_CAVEAT`).
 */
export function formatGloss(resolved: Pick<ResolvedFinish, 'gu60' | 'gloss'>): string {
  const { gu60, gloss } = resolved;
  if (gu60 === null) return 'gloss by sample';
  if (isGlossRead(resolved)) return `${Math.round(gu60)} GU at 60°`;
  const stated = gloss?.kind === 'inverted' ? ` (${gloss.gu} at ${gloss.angle}°)` : '';
  return `about ${Math.round(gu60)} GU at 60°${stated}`;
}

/** Whether the gloss at 60° was measured and not computed. */
export function isGlossRead({ gloss }: Pick<ResolvedFinish, 'gloss'>): boolean {
  return gloss?.kind === 'inverted' && gloss.angle === 60;
}
