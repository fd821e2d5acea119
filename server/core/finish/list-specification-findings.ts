import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { type Finding, makeFinding } from '../product/finding.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/** A larger distance between the specified colour and sRGB is reported. A smaller one is invisible. */
const SEEN_DELTA_E = 0.5;

/** Reports the distance of a finish from its specification, with the reason: gamut, estimate, gloss. */
export function listSpecificationFindings(finish: ResolvedFinish): Finding[] {
  return [...listColourFindings(finish), ...listMapFindings(finish), ...listGlossFindings(finish)];
}

function listColourFindings({ finish, hex, outOfGamutDeltaE, estimated }: ResolvedFinish): Finding[] {
  const findings: Finding[] = [];
  const where = `finish ${finish}`;
  if (outOfGamutDeltaE > SEEN_DELTA_E) {
    findings.push(
      makeFinding(
        'out-of-gamut',
        { finish, hex, deltaE: outOfGamutDeltaE },
        {
          where,
          seen: outOfGamutDeltaE,
          expected: 0,
        },
      ),
    );
  }
  if (estimated) {
    findings.push(
      makeFinding(
        'colour-estimated',
        { finish, ...estimated },
        {
          where,
          seen: estimated,
        },
      ),
    );
  }
  return findings;
}

/** Reports the effect of the colour map on the colour, and of the colour on the map. */
function listMapFindings({ finish, maps, colourFrom, baseColour, levelled, delivered }: ResolvedFinish): Finding[] {
  if (maps.colour === undefined) return [];
  const where = `finish ${finish}`;
  if (!levelled || !delivered) {
    return [
      makeFinding(
        'map-not-measured',
        { finish },
        {
          where,
          seen: maps.colour.slice(0, 12),
          expected: 'PNG, JPEG or WebP',
        },
      ),
    ];
  }
  const findings: Finding[] = [];
  const moved = deltaE2000(linearToLab(baseColour), linearToLab(levelled.mean));
  if (delivered.deltaE > SEEN_DELTA_E && (colourFrom === 'map' || moved > MOVED_DELTA_E)) {
    findings.push(
      makeFinding(
        colourFrom === 'map' ? 'pattern-off-colour:map' : 'pattern-off-colour',
        { finish, hex: delivered.hex, deltaE: delivered.deltaE },
        {
          where,
          seen: { hex: delivered.hex, deltaE: delivered.deltaE },
          expected: { deltaE: 0 },
        },
      ),
    );
  }
  const { contrast, clipped } = levelled;
  if (contrast !== null && contrast < 1) {
    findings.push(
      makeFinding(
        'pattern-flattened',
        { finish, contrast, clipped },
        {
          where,
          seen: { contrast, clipped },
          expected: { contrast: 1 },
        },
      ),
    );
  }
  return findings;
}

/** Rounding to 8 bits moves a mean by less. */
const MOVED_DELTA_E = 0.1;

function listGlossFindings({ finish, gloss }: ResolvedFinish): Finding[] {
  const where = `finish ${finish}`;
  if (gloss?.kind === 'out-of-reach') {
    const { gu, angle, limitGu, message } = gloss;
    return [
      makeFinding(
        'gloss-out-of-reach',
        { finish, reason: message },
        {
          where,
          seen: { gu, angleDegrees: angle },
          expected: { gu: limitGu, angleDegrees: angle },
        },
      ),
    ];
  }
  if (gloss?.kind === 'not-inverted') {
    return [
      makeFinding(
        'gloss-not-read',
        { finish, reason: gloss.reason },
        {
          where,
        },
      ),
    ];
  }
  return [];
}
