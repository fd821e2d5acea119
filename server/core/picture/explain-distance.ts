import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import type { SwatchKind } from './picture.ts';

/** ΔE00 below which nobody has to be told why: what rounding to 8 bits comes to as a rule. */
const ROUNDING = 0.5;

/** Why what a swatch shows is not what was specified, in words; empty where it is. */
export function explainDistance(
  resolved: Pick<
    ResolvedFinish,
    | 'estimated'
    | 'colourFrom'
    | 'delivered'
    | 'outOfGamutDeltaE'
    | 'chipDeltaE'
    | 'includedLab'
    | 'displayDeltaE'
    | 'metalness'
    | 'maps'
    | 'supplied'
    | 'transmission'
  >,
  kind: SwatchKind,
  flat = kind === 'chip',
): string[] {
  const {
    estimated,
    colourFrom,
    delivered,
    outOfGamutDeltaE,
    chipDeltaE,
    includedLab,
    displayDeltaE,
    metalness,
    maps,
    supplied,
    transmission,
  } = resolved;
  const why: (string | false)[] = [
    estimated !== null &&
      `The colour was stated for the 10° observer and is estimated for 2°: off by ΔE00 ${estimated.typicalDeltaE} as a rule, by up to ${estimated.worstDeltaE} in nineteen cases of twenty.`,
    outOfGamutDeltaE >= ROUNDING &&
      `sRGB has no such colour; what is shown is the nearest it has, ΔE00 ${outOfGamutDeltaE.toFixed(1)} away.`,
    includedLab !== null &&
      'It was measured with the reflection of the surface included, which is taken out of the material: the light puts it back.',
    displayDeltaE !== null &&
      `The approved screen colour is ΔE00 ${displayDeltaE.toFixed(1)} from the specification. A swatch shows the delivered colour instead.`,
    delivered !== null &&
      maps.colour !== undefined &&
      delivered.deltaE - outOfGamutDeltaE >= ROUNDING &&
      (colourFrom === 'map'
        ? `The colour is the mean of the colour map, ΔE00 ${delivered.deltaE.toFixed(1)} from the specification.`
        : `The colour map varies too much for so light a colour: its mean stays ΔE00 ${delivered.deltaE.toFixed(1)} from the specification.`),
    flat &&
      outOfGamutDeltaE < ROUNDING &&
      chipDeltaE >= 0.05 &&
      `Rounding to 8 bits a channel makes ΔE00 ${chipDeltaE.toFixed(2)} of it.`,
    flat &&
      metalness === 1 &&
      kind === 'chip' &&
      'A metal’s flat field is its colour at normal incidence, its reflectance seen straight on; a piece of it shows that only in what it mirrors.',
    !flat &&
      (metalness === 1
        ? sayMirrored(kind)
        : 'The light of the studio, the shine of the surface and the tone curve (Khronos PBR Neutral) are in what is measured.'),
    kind !== 'chip' &&
      (maps.colour !== undefined || supplied !== null) &&
      'The finish has a pattern: its mean is measured, over whole repeats where the piece holds them.',
    !flat && transmission > 0 && 'Light passes through it: it is measured as it looks on white.',
    !flat &&
      kind === 'cutting' &&
      'The cloth lies in folds, some in the light and some in the shade: the mean over the middle of the piece is measured.',
  ];
  return why.filter((text) => text !== false);
}

/** A cutting stands in the light of products, whose folds mirror all of the studio; others have a screen before them. */
function sayMirrored(kind: SwatchKind): string {
  return kind === 'cutting'
    ? 'A metal shows what it mirrors: the studio’s lights and its dark.'
    : 'A metal shows what it mirrors: in the middle a white screen, beside it the studio’s lights and its dark.';
}
