import { labToLinear, linearToLab } from '../colour/lab.ts';
import { type LinearRgb, luminance } from '../colour/srgb.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { LIGHT_NOTES, SWATCH_NOTES } from '../texts/finish-notes.ts';
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
  const notes: (string | false)[] = [
    estimated !== null && SWATCH_NOTES.estimated(estimated.typicalDeltaE, estimated.worstDeltaE),
    outOfGamutDeltaE >= ROUNDING && SWATCH_NOTES.outOfGamut(outOfGamutDeltaE),
    includedLab !== null && SWATCH_NOTES.reflectionIncluded,
    displayDeltaE !== null && SWATCH_NOTES.screenColour(displayDeltaE),
    delivered !== null &&
      maps.colour !== undefined &&
      delivered.deltaE - outOfGamutDeltaE >= ROUNDING &&
      (colourFrom === 'map' ? SWATCH_NOTES.meanOfMap(delivered.deltaE) : SWATCH_NOTES.mapVaries(delivered.deltaE)),
    flat && outOfGamutDeltaE < ROUNDING && chipDeltaE >= 0.05 && SWATCH_NOTES.rounding(chipDeltaE),
    flat && metalness === 1 && kind === 'chip' && SWATCH_NOTES.metalChip,
    // a cutting is lit as products are, and its folds mirror all of the studio; other shapes have a screen in front
    !flat &&
      (metalness === 0 ? SWATCH_NOTES.light : kind === 'cutting' ? SWATCH_NOTES.metalCutting : SWATCH_NOTES.metal),
    kind !== 'chip' && (maps.colour !== undefined || supplied !== null) && SWATCH_NOTES.pattern,
    !flat && transmission > 0 && SWATCH_NOTES.transparent,
    !flat && kind === 'cutting' && SWATCH_NOTES.folds,
  ];
  return notes.filter((text) => text !== false);
}

/**
 * How many times its own value a matt body sends to the viewer from the middle of a sphere or panel, before the tone curve.
 * The grey card sets it: to show 0.18, the curve needs 0.22, of which the card's surface gives 0.014 and its body the rest.
 * A test holds it against pictures without any shine.
 */
export const BODY_EXPOSURE = 1.145;

/** Chroma that is not worth a sentence: rounding to 8 bits alone may make as much of it. */
const CHROMA_ROUNDING = 0.5;

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
  const last = { after: LIGHT_NOTES.toneCurve, rgb: shown };
  if (metalness === 1) {
    const steps = listSteps(baseColour, [{ after: LIGHT_NOTES.mirrored, rgb: light }, last]);
    // what takes all light mirrors none
    if (luminance(baseColour) === 0) return steps;
    const percent = Math.round((100 * luminance(light)) / luminance(baseColour));
    return [LIGHT_NOTES.mirroredShare(percent), ...steps];
  }
  return listSteps(baseColour, [
    {
      after: LIGHT_NOTES.exposure,
      rgb: mapChannels(baseColour, (value) => value * BODY_EXPOSURE),
    },
    { after: LIGHT_NOTES.reflection, rgb: light },
    last,
  ]);
}

function listSteps(delivered: LinearRgb, stages: readonly Stage[]): string[] {
  const labs = [delivered, ...stages.map(({ rgb }) => rgb)].map((rgb) => linearToLab(rgb));
  const describeSteps = (symbol: string, values: readonly number[]) =>
    stages.map(({ after }, index) => LIGHT_NOTES.step(after, symbol, sign(values[index + 1]! - values[index]!)));
  const lightnesses = labs.map(([lightness]) => lightness);
  const chromas = labs.map(([, a, b]) => Math.hypot(a, b));
  const steps = chromas.slice(1).map((chroma, index) => Math.abs(chroma - chromas[index]!));
  return [
    LIGHT_NOTES.lightness(describeSteps('L*', lightnesses)),
    ...(Math.max(...steps) >= CHROMA_ROUNDING ? [LIGHT_NOTES.chroma(describeSteps('C*', chromas))] : []),
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
