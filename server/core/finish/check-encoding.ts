import { type Finding, makeFinding } from '../product/finding.ts';
import { PLACES } from '../texts/place-titles.ts';
import type { ImageEncoding } from './image-encoding.ts';
import type { MapUse } from './map-facts.ts';

/** A smaller share of texels outside sRGB is noise and is not reported. */
const OUTSIDE_LISTED = 0.005;

/**
 * What is said of the profile and depth of an image used as one map of a finish. Never throws.
 * @param encoding null where it is not known: the image was stored before encodings were looked at
 */
export function checkEncoding({ encoding }: { readonly encoding: ImageEncoding | null }, use: MapUse): Finding[] {
  if (!encoding) return [];
  const place = { where: `maps.${use}`, place: PLACES.map(use) };
  const { profile, bitsPerChannel } = encoding;
  const findings: Finding[] = [];
  if (profile && !profile.isSrgb) {
    const seen = profile.name;
    if (use !== 'colour') {
      findings.push(makeFinding('map-profile:ignored', { profile: profile.name, use }, { ...place, seen }));
    } else if (encoding.asColour) {
      const outside = encoding.outside !== null && encoding.outside >= OUTSIDE_LISTED ? encoding.outside : null;
      findings.push(makeFinding('map-profile', { profile: profile.name, outside }, { ...place, seen }));
    } else {
      findings.push(
        makeFinding(
          'map-profile:unusable',
          { profile: profile.name },
          { ...place, seen, expected: 'sRGB, or a profile that fits the image' },
          'warning',
        ),
      );
    }
  }
  if (use === 'colour' && bitsPerChannel === 16) {
    findings.push(
      makeFinding(
        'map-depth',
        {},
        {
          ...place,
          seen: 16,
          expected: 8,
        },
      ),
    );
  }
  return findings;
}
