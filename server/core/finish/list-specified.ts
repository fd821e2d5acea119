import type { ColourSpecification } from './finish.ts';

/**
 * Columns of a table that has the colour as its maker stated it, beside what it was converted to: in which way; the hex, the
 * three figures, or the range of the spectrum; illuminant, observer and geometry, empty where they were not stated.
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
