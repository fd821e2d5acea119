import { type Finding, makeFinding } from '../product/finding.ts';
import type { ResolvedFinish } from './resolve-finish.ts';

/** A specified colour farther than this from what sRGB carries is said; less is below what anybody sees. */
const SEEN_DELTA_E = 0.5;

/** How far a finish is from what was specified, and why: gamut, estimate, gloss. */
export function listSpecificationFindings(finish: ResolvedFinish): Finding[] {
  return [...listColourFindings(finish), ...listGlossFindings(finish)];
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
