import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/** A specified colour farther than this from what sRGB carries is said; less is below what anybody sees. */
const SEEN_DELTA_E = 0.5;

/** How far a finish is from what was specified, and why: gamut, estimate, gloss. */
export function listSpecificationFindings(finish: ResolvedFinish): Finding[] {
  return [...listColourFindings(finish), ...listMapFindings(finish), ...listGlossFindings(finish)];
}

function listColourFindings({ finish, hex, outOfGamutDeltaE, estimated }: ResolvedFinish): Finding[] {
  const findings: Finding[] = [];
  const where = `finish ${finish}`;
  if (outOfGamutDeltaE > SEEN_DELTA_E) {
    findings.push(
      makeFinding('out-of-gamut', {
        where,
        message: `The specified colour of ${finish} lies outside sRGB; the nearest that can be shown is ${hex}, ΔE00 ${outOfGamutDeltaE.toFixed(1)} away.`,
        seen: outOfGamutDeltaE,
        expected: 0,
      }),
    );
  }
  if (estimated) {
    findings.push(
      makeFinding('colour-estimated', {
        where,
        message:
          `${finish} was measured for the 10° observer; what it is for the 2° observer, which screens and glTF go by, is ` +
          `estimated through a smooth spectrum: as a rule within ΔE00 ${estimated.typicalDeltaE}, in nineteen ` +
          `cases of twenty within ${estimated.worstDeltaE}. Ask the supplier for the spectrum, or for D65/2°, to have it exact.`,
        seen: estimated,
      }),
    );
  }
  return findings;
}

/** What a colour map does to the colour, and what the colour does to the map. */
function listMapFindings({ finish, maps, colourFrom, baseColour, levelled, delivered }: ResolvedFinish): Finding[] {
  if (maps.colour === undefined) return [];
  const where = `finish ${finish}`;
  if (!levelled || !delivered) {
    return [
      makeFinding('map-not-measured', {
        where,
        message: `The colour map of ${finish} cannot be measured: it is in KTX2, or its file cannot be read. So the delivered colour is not known. Upload the map again as PNG, JPEG or WebP.`,
        seen: maps.colour.slice(0, 12),
        expected: 'PNG, JPEG or WebP',
      }),
    ];
  }
  const findings: Finding[] = [];
  const moved = deltaE2000(linearToLab(baseColour), linearToLab(levelled.mean));
  if (delivered.deltaE > SEEN_DELTA_E && (colourFrom === 'map' || moved > MOVED_DELTA_E)) {
    const distance = `ΔE00 ${delivered.deltaE.toFixed(1)} from its specification`;
    findings.push(
      makeFinding('pattern-off-colour', {
        where,
        message:
          colourFrom === 'map'
            ? `${finish} takes its colour from its map, whose mean is ${delivered.hex}, ${distance}. Set colourFrom to specification to level the map, or leave the colour out.`
            : `The colour map of ${finish} varies too much for so light a colour: its mean comes out as ${delivered.hex}, ${distance}. Upload a map with less contrast.`,
        seen: { hex: delivered.hex, deltaE: delivered.deltaE },
        expected: { deltaE: 0 },
      }),
    );
  }
  const { contrast, clipped } = levelled;
  if (contrast !== null && contrast < 1) {
    findings.push(
      makeFinding('pattern-flattened', {
        where,
        message: `${finish} is too light for all of the contrast of its colour map: ${percent(contrast)} of it is kept${clipped > 0 ? `, and ${percent(clipped)} of the texels are cut at white` : ''}. Upload a map with less contrast to keep it whole.`,
        seen: { contrast, clipped },
        expected: { contrast: 1 },
      }),
    );
  }
  return findings;
}

/** Rounding to 8 bits moves a mean by less. */
const MOVED_DELTA_E = 0.1;

/** To a tenth below one per cent. */
function percent(share: number): string {
  return `${share < 0.01 ? (share * 100).toFixed(1) : Math.round(share * 100)} %`;
}

function listGlossFindings({ finish, gloss }: ResolvedFinish): Finding[] {
  const where = `finish ${finish}`;
  if (gloss?.kind === 'out-of-reach') {
    const { gu, angle, limitGu, message } = gloss;
    return [
      makeFinding('gloss-out-of-reach', {
        where,
        message: `${finish}: ${message}`,
        seen: { gu, angleDegrees: angle },
        expected: { gu: limitGu, angleDegrees: angle },
      }),
    ];
  }
  if (gloss?.kind === 'not-inverted') {
    return [
      makeFinding('gloss-not-read', {
        where,
        message: `The gloss reading of ${finish} makes no roughness: ${gloss.reason}`,
      }),
    ];
  }
  return [];
}
