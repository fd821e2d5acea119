import { type Finding, makeFinding } from '../product/finding.ts';
import { formatPercent } from '../texts/format-text.ts';
import type { ImageEncoding, ImageProfile } from './image-encoding.ts';
import type { MapUse } from './map-facts.ts';

/** From here on a share of texels outside sRGB is told; less is lost in noise. */
const OUTSIDE_TOLD = 0.005;

/**
 * What is said of the profile and depth of an image used as one map of a finish. Never throws.
 * @param encoding null where it is not known: the image was stored before encodings were looked at
 */
export function checkEncoding(
  { sha256, encoding }: { readonly sha256: string; readonly encoding: ImageEncoding | null },
  use: MapUse,
): Finding[] {
  if (!encoding) return [];
  const place = { where: `maps.${use}`, place: `file ${sha256.slice(0, 12)}` };
  const { profile, bitsPerChannel } = encoding;
  const findings: Finding[] = [];
  if (profile && !profile.isSrgb) {
    const seen = profile.name;
    if (use !== 'colour') {
      findings.push(makeFinding('map-profile', { ...place, message: sayIgnored(profile, use), seen }));
    } else if (encoding.asColour) {
      findings.push(makeFinding('map-profile', { ...place, message: sayConverted(profile, encoding.outside), seen }));
    } else {
      findings.push(
        makeFinding(
          'map-profile',
          { ...place, message: sayUnusable(profile), seen, expected: 'sRGB, or a profile that fits the image' },
          'warning',
        ),
      );
    }
  }
  if (use === 'colour' && bitsPerChannel === 16) {
    findings.push(
      makeFinding('map-depth', {
        ...place,
        message:
          'The image has 16 bits per channel. Colour maps of glTF have 8, so deliveries carry it rounded to 8 bits.',
        seen: 16,
        expected: 8,
      }),
    );
  }
  return findings;
}

function sayConverted({ name }: ImageProfile, outside: number | null): string {
  const which = name === null ? 'The image has a colour profile without a name' : `The image is in ${name}`;
  const cut =
    outside !== null && outside >= OUTSIDE_TOLD
      ? ` ${formatPercent(outside)} of its texels are more vivid than sRGB can show; their colour was cut.`
      : '';
  return `${which}. As a colour map it was converted to sRGB, and finishes use the converted file.${cut}`;
}

function sayIgnored({ name }: ImageProfile, use: MapUse): string {
  return `The image has the colour profile ${sayName(name)}. As a ${use} map its codes are used unchanged, and the profile is ignored.`;
}

function sayUnusable({ name }: ImageProfile): string {
  return `The image has the colour profile ${sayName(name)}, which cannot be applied to it. As a colour map its codes are read as sRGB. Convert the image to sRGB and upload it again.`;
}

function sayName(name: string | null): string {
  return name === null ? '(without a name)' : `“${name}”`;
}
