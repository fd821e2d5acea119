import { labToLinear, linearToLab } from '../colour/lab.ts';
import { type LinearRgb, luminance } from '../colour/srgb.ts';
import type { ResolvedFinish } from '../finish/resolve-finish.ts';
import { LIGHT_NOTES, SWATCH_NOTES } from '../texts/finish-notes.ts';
import { invertToneMapping } from './invert-tone-mapping.ts';
import type { SwatchKind } from './picture.ts';
import type { MeasuredColour } from './swatch.ts';

/** A ΔE00 below this needs no explanation. Rounding to 8 bits usually causes as much. */
const ROUNDING = 0.5;

/** Explains in words why a swatch differs from its specification. Empty if it does not differ. */
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
    // A cutting is lit like a product, and its folds mirror the whole studio. The other shapes have a screen in front.
    !flat &&
      (metalness === 0 ? SWATCH_NOTES.light : kind === 'cutting' ? SWATCH_NOTES.metalCutting : SWATCH_NOTES.metal),
    kind !== 'chip' && (maps.colour !== undefined || supplied !== null) && SWATCH_NOTES.pattern,
    !flat && transmission > 0 && SWATCH_NOTES.transparent,
    !flat && kind === 'cutting' && SWATCH_NOTES.folds,
  ];
  return notes.filter((text) => text !== false);
}

/**
 * Light that a matt body at the middle of a sphere or panel sends to the viewer, as a multiple of its own value, before
 * the tone curve. The grey card sets it: to show 0.18, the curve needs 0.22. The card's surface reflection gives 0.014
 * of that and its body gives the rest. A test compares it with pictures without any shine.
 */
export const BODY_EXPOSURE = 1.145;

/** Chroma differences below this are not reported. Rounding to 8 bits alone can cause as much. */
const CHROMA_ROUNDING = 0.5;

/** The colour after one influence of the studio, in linear light. */
interface Stage {
  readonly after: string;
  readonly rgb: LinearRgb;
}

/**
 * Splits the distance between the delivered and the measured colour, in the middle of a lit swatch, into exposure,
 * surface and tone curve. First it removes the tone curve from the measured colour. Then it removes the body, whose
 * exposure is known. The surface causes the remainder. Each figure is the step on top of the previous one, so they add
 * up. Empty where the middle cannot be explained: patterns, reliefs, folds, glass, thin films and glowing finishes.
 */
export function explainLight(
  finish: Pick<ResolvedFinish, 'baseColour' | 'metalness' | 'transmission' | 'iridescence' | 'emissive' | 'maps'>,
  measured: MeasuredColour,
): string[] {
  const { baseColour, metalness, transmission, iridescence, emissive, maps } = finish;
  if (measured.where !== 'facing-centre') return [];
  if (transmission > 0 || iridescence || emissive || maps.normal) return [];
  // White in a picture is the end of the curve; no light reaches it.
  const shown = mapChannels(labToLinear(measured.lab, 'D65'), (value) => Math.min(Math.max(value, 0), 0.999));
  const light = invertToneMapping(shown);
  const last = { after: LIGHT_NOTES.toneCurve, rgb: shown };
  if (metalness === 1) {
    const steps = listSteps(baseColour, [{ after: LIGHT_NOTES.mirrored, rgb: light }, last]);
    // A finish that absorbs all light mirrors none.
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
