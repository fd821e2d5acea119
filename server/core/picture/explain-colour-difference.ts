import { labToLinear, linearToLab } from '../colour/lab.ts';
import { type LinearRgb, luminance } from '../colour/srgb.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import type { SwatchKind } from './picture.ts';
import type { MeasuredColour } from './swatch.ts';

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

/**
 * How many times its own value a matt body sends to the viewer from the middle of a sphere or panel, before the tone curve.
 * The grey card sets it: to show 0.18, the curve needs 0.22, of which the card's surface gives 0.014 and its body the rest.
 * A test holds it against pictures without any shine.
 */
export const BODY_EXPOSURE = 1.145;

/** Chroma that is not worth a sentence: rounding to 8 bits alone may make as much of it. */
const CHROMA_ROUNDING = 0.5;

const CURVE = 'the tone curve, Khronos PBR Neutral';

/** What a colour is after one influence of the studio, in linear light. */
interface Stage {
  readonly after: string;
  readonly rgb: LinearRgb;
}

/**
 * How much exposure, surface and tone curve make of the distance between what is delivered and what is measured in the
 * middle of a lit swatch. The tone curve is taken off the measured colour, and the body, whose exposure is known, off the
 * rest; the surface's share is what is left. Each figure is the step on top of the one before it, so that they add up.
 * Empty where the middle does not tell: patterns, reliefs, folds, glass, thin films and what glows.
 */
export function explainLight(
  finish: Pick<ResolvedFinish, 'baseColour' | 'metalness' | 'transmission' | 'iridescence' | 'emissive' | 'maps'>,
  measured: MeasuredColour,
): string[] {
  const { baseColour, metalness, transmission, iridescence, emissive, maps } = finish;
  if (measured.where !== 'facing-centre') return [];
  if (transmission > 0 || iridescence || emissive || maps.normal) return [];
  // a picture's white is the curve's end, which no light reaches
  const shown = mapChannels(labToLinear(measured.lab, 'D65'), (value) => Math.min(Math.max(value, 0), 0.999));
  const light = invertToneMapping(shown);
  const last = { after: CURVE, rgb: shown };
  if (metalness === 1) {
    const steps = listSteps(baseColour, [{ after: 'the light it mirrors', rgb: light }, last]);
    // what takes all light mirrors none
    if (luminance(baseColour) === 0) return steps;
    const percent = Math.round((100 * luminance(light)) / luminance(baseColour));
    return [
      `The light it mirrors in the middle is ${percent} % of what shows a metal at its own reflectance.`,
      ...steps,
    ];
  }
  return listSteps(baseColour, [
    {
      after: 'the exposure, which a matt grey card sets',
      rgb: mapChannels(baseColour, (value) => value * BODY_EXPOSURE),
    },
    { after: 'the reflection at the surface', rgb: light },
    last,
  ]);
}

function listSteps(delivered: LinearRgb, stages: readonly Stage[]): string[] {
  const labs = [delivered, ...stages.map(({ rgb }) => rgb)].map((rgb) => linearToLab(rgb));
  const say = (symbol: string, values: readonly number[]) =>
    stages.map(({ after }, index) => `${after}: ${symbol} ${sign(values[index + 1]! - values[index]!)}`).join('; ');
  const chromas = labs.map(([, a, b]) => Math.hypot(a, b));
  const steps = chromas.slice(1).map((chroma, index) => Math.abs(chroma - chromas[index]!));
  return [
    `The distance in lightness is made of ${say(
      'L*',
      labs.map(([lightness]) => lightness),
    )}.`,
    ...(Math.max(...steps) >= CHROMA_ROUNDING ? [`The distance in chroma is made of ${say('C*', chromas)}.`] : []),
  ];
}

function sign(value: number): string {
  return `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(1)}`;
}

function mapChannels(rgb: LinearRgb, change: (value: number) => number): LinearRgb {
  return [change(rgb[0]), change(rgb[1]), change(rgb[2])];
}

/** Where the curve begins to compress. */
const START = 0.76;

/** What it takes off every colour that has so much in its least channel: the 4 % a dielectric mirrors. */
const OFFSET = 0.04;

/** How fast what is compressed goes to white. */
const DESATURATION = 0.15;

/**
 * The light that Khronos PBR Neutral turns into what is shown: the curve's inverse, which the specification leaves to the
 * reader. Exact but for the rounding of what is shown, which near white counts for five times as much before the curve.
 * @param shown linear RGB, each channel 0 to less than 1
 * @returns linear RGB ≥ 0 after exposure
 * @see https://github.com/KhronosGroup/ToneMapping/tree/main/PBR_Neutral
 */
export function invertToneMapping(shown: LinearRgb): LinearRgb {
  const rgb = expand(shown);
  const least = Math.max(0, Math.min(...rgb));
  const offset = least < OFFSET ? Math.sqrt(least / 6.25) - least : OFFSET;
  return rgb.map((value) => value + offset) as unknown as LinearRgb;
}

/** Gives highlights their range and saturation back. */
function expand(shown: LinearRgb): LinearRgb {
  const peak = Math.max(...shown);
  if (peak < START) return shown;
  const room = 1 - START;
  const before = (room * room) / (1 - peak) - room + START;
  const white = 1 - 1 / (DESATURATION * (before - peak) + 1);
  return shown.map((value) => (((value - white * peak) / (1 - white)) * before) / peak) as unknown as LinearRgb;
}
