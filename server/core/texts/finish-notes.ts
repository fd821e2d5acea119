import { formatPercent } from './format-text.ts';

const SCOPE = 'ISO 2813 is for smooth coatings on flat, opaque surfaces; set the roughness instead.';
const METAL = `The surface is metal, which reflects unlike a coating. ${SCOPE}`;

/** Reasons why a gloss reading cannot be converted to a roughness. */
export const GLOSS_OBSTACLES = {
  none: 'No gloss reading is given.',
  metal: METAL,
  transparent: `The surface is transparent, so the reading includes light from its back face. ${SCOPE}`,
  textured: `The surface is textured. ${SCOPE}`,
  maps: `The surface has a normal or roughness map, so it is not smooth. ${SCOPE}`,
  /** By family of the finish. */
  anodised: METAL,
  plated: METAL,
  'bare-metal': METAL,
  wood: `Wood without a clear coat has open pores. ${SCOPE}`,
  textile: `Cloth scatters light by its threads, not by one smooth surface. ${SCOPE}`,
  leather: `Leather has a grain, so it is not one smooth surface. ${SCOPE}`,
  glass: `Glass is transparent, so the reading includes light from its back face. ${SCOPE}`,
  stone: `Stone is a mixture without a coating. ${SCOPE}`,
  paper: `Paper is not a coating; its gloss is measured at 75° (common practice). ${SCOPE}`,
} as const;

const formatGu = (gu: number) => String(Math.round(gu * 10) / 10);

/** Gloss readings that the surface cannot have. Readings and limits are in gloss units at the angle, in degrees. */
export const GLOSS_LIMITS = {
  /**
   * @param limit of a perfectly smooth surface
   * @param wantedIor index of refraction that would reach the reading; undefined where none up to 2.5 does
   * @param coatLimit of a smooth clear coat over this surface
   */
  above: (
    gu: number,
    angle: number,
    ior: number,
    limit: number,
    wantedIor: number | undefined,
    coatLimit: number,
  ): string => {
    const byCoat = coatLimit >= gu;
    const ways = [
      wantedIor === undefined ? 'No index up to 2.5 reaches it.' : `An index of ${wantedIor} would reach it.`,
      byCoat
        ? `A smooth clear coat would reach it (${formatGu(coatLimit)}).`
        : `The clear coat of glTF, whose index is 1.5, gives ${formatGu(coatLimit)} here at most.`,
      wantedIor === undefined && !byCoat ? 'Check the reading' : 'Change the surface or check the reading',
    ];
    return `The reading is ${formatGu(gu)} GU at ${angle}°; a perfectly smooth surface of index ${ior} in this colour gives ${formatGu(limit)}. ${ways.join(' ')}. Until then, Dyeworks uses roughness 0, the nearest.`;
  },
  aboveCoat: (gu: number, angle: number, limit: number) =>
    `The reading is ${formatGu(gu)} GU at ${angle}°; a smooth clear coat of this factor over this surface gives ${formatGu(limit)}. The clear coat of glTF always has index 1.5. Raise its factor, or remove it and raise the index of the surface, or check the reading. Until then, Dyeworks uses roughness 0, the nearest.`,
  below: (gu: number, angle: number, limit: number, isCoated: boolean) =>
    `The reading is ${formatGu(gu)} GU at ${angle}°; even at roughness 1 the surface gives ${formatGu(limit)}. ${
      isCoated ? 'Raise the roughness under the clear coat, or check the reading' : 'Check the reading and the colour'
    }. Until then, Dyeworks uses roughness 1, the nearest.`,
} as const;

/** Reasons why the colour that a swatch shows is not the specified one. Distances are ΔE00. */
export const SWATCH_NOTES = {
  estimated: (typical: number, worst: number) =>
    `The colour was stated for the 10° observer, and Dyeworks estimates it for 2°: usually within ΔE00 ${typical}, and within ${worst} in 19 of 20 cases.`,
  outOfGamut: (deltaE: number) =>
    `sRGB cannot show this colour. The swatch shows the nearest sRGB colour, ΔE00 ${deltaE.toFixed(1)} away.`,
  reflectionIncluded:
    'The colour was measured with the specular reflection included. Dyeworks removes it from the material, because the light adds it again.',
  screenColour: (deltaE: number) =>
    `The approved screen colour is ΔE00 ${deltaE.toFixed(1)} from the specification. A swatch shows the delivered colour instead.`,
  meanOfMap: (deltaE: number) =>
    `The colour is the mean of the colour map, ΔE00 ${deltaE.toFixed(1)} from the specification.`,
  mapVaries: (deltaE: number) =>
    `The colour map varies too much for so light a colour: its mean stays ΔE00 ${deltaE.toFixed(1)} from the specification.`,
  rounding: (deltaE: number) => `Rounding to 8 bits per channel adds ΔE00 ${deltaE.toFixed(2)}.`,
  metalChip:
    'The flat colour of a metal is its reflectance at normal incidence. A real piece shows it only in its reflections.',
  metalCutting: 'A metal shows its surroundings: the studio’s lights and its dark areas.',
  metal:
    'A metal shows its surroundings: a white screen in the middle, and beside it the studio’s lights and its dark areas.',
  light:
    'The measured colour includes the light of the studio, the shine of the surface and the tone curve (Khronos PBR Neutral).',
  pattern: 'The finish has a pattern: its mean is measured, over whole repeats where the piece is large enough.',
  transparent: 'Light passes through the finish: it is measured on white.',
  folds:
    'The cloth hangs in folds, some in the light and some in the shade: the mean over the middle of the piece is measured.',
} as const;

/** The steps from the delivered colour to the measured one, in a lit swatch. */
export const LIGHT_NOTES = {
  exposure: 'the exposure, which a matt grey card sets',
  reflection: 'the reflection at the surface',
  mirrored: 'the light it mirrors',
  toneCurve: 'the tone curve, Khronos PBR Neutral',
  mirroredShare: (percent: number) =>
    `The light it mirrors in the middle is ${percent} % of the light that shows a metal at its own reflectance.`,
  step: (after: string, symbol: string, change: string) => `${after}: ${symbol} ${change}`,
  lightness: (steps: readonly string[]) => `The distance in lightness consists of ${steps.join('; ')}.`,
  chroma: (steps: readonly string[]) => `The distance in chroma consists of ${steps.join('; ')}.`,
} as const;

/** Reasons for a proposed direction of the grain. */
export const GRAIN_REASONS = {
  alongLength: (lengthToWidth: number | null) =>
    `The grain then runs along the longer direction of the part${lengthToWidth === null ? '' : `, ${formatLength(lengthToWidth)}`}`,
  /** Share of the part that is horizontal, like a seat: all, none, or some. */
  cloth: (thread: 'warp' | 'grain', lies: 'all' | 'none' | 'some') =>
    `The ${thread} then runs ${CLOTH_DIRECTIONS[lies]}`,
  noLength: (reason: string) => `The part has no dominant direction. ${reason}`,
  otherFamily: (reason: string, isWood: boolean, otherDegrees: number) =>
    `${reason} This applies to ${isWood ? 'woods' : 'cloths'}; ${isWood ? 'cloths' : 'woods'} would run at ${otherDegrees}°.`,
  mixedUvs: (wanted: 'length' | 'all' | 'none' | 'some', agreement: number) =>
    `The UVs of the part run in too many directions for one turn to follow ${
      wanted === 'length' ? 'the longer direction of its pieces' : CLOTH_DIRECTIONS[wanted]
    }: their agreement is ${formatPercent(agreement)}. Unwrap the part with all UVs in the same direction.`,
  short: (lengthToWidth: number) => `it is only ${formatLength(lengthToWidth)}`,
  disagreement: (agreement: number) =>
    `its UVs do not all run in the same direction (agreement ${formatPercent(agreement)})`,
  smallShare: (share: number) => `only ${formatPercent(share)} of its surface counts`,
  withDoubts: (sentence: string, doubts: readonly string[]) =>
    doubts.length === 0 ? `${sentence}.` : `${sentence}; but ${doubts.join(', and ')}.`,
} as const;

const CLOTH_DIRECTIONS = {
  all: 'front to back, as on a seat',
  none: 'down, as on a back',
  some: 'front to back on level surfaces, and down on upright ones',
} as const;

function formatLength(lengthToWidth: number): string {
  return `${lengthToWidth.toFixed(1)} times as long as wide`;
}
