import type { ColourSpecification, Viewing } from './finish.ts';

/**
 * A colour as its maker stated it, in one short line: `#2f5d73`; `Lab 38.1 −8.2 −15.4, D65/10°, di:8`;
 * `spectrum 400–700 nm, every 10 nm`.
 */
export function sayColour(colour: ColourSpecification): string {
  if ('hex' in colour) return colour.hex;
  if ('lab' in colour) return `Lab ${sayFigures(colour.lab)}, ${sayViewing(colour)}`;
  if ('xyz' in colour) return `XYZ ${sayFigures(colour.xyz)}, ${sayViewing(colour)}`;
  const { startNm, stepNm, values } = colour.spectrum;
  const reach = `spectrum ${startNm}–${startNm + stepNm * (values.length - 1)} nm, every ${stepNm} nm`;
  return colour.geometry ? `${reach}, ${colour.geometry}` : reach;
}

/** To a hundredth, which is finer than instruments agree. */
function sayFigures(values: readonly number[]): string {
  return values.map((value) => String(Number(value.toFixed(2)) + 0).replace('-', '−')).join(' ');
}

function sayViewing({ illuminant, observer, geometry }: Viewing): string {
  const light = `${illuminant}/${observer.replace('deg', '°')}`;
  return geometry ? `${light}, ${geometry}` : light;
}
