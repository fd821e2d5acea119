import { deltaE2000, linearToLab } from '../colour/lab.ts';
import { LINEAR_CODES, type LinearRgb, toCode } from '../colour/srgb.ts';

/** Counts of each of the 256 sRGB codes in the red, green and blue of a colour map; alpha is ignored. */
export type CodeCounts = readonly [red: readonly number[], green: readonly number[], blue: readonly number[]];

/** The new value of each code of red, green and blue. */
export type LevelTables = readonly [red: Uint8Array, green: Uint8Array, blue: Uint8Array];

/** A colour map levelled so that its area mean is a given colour. */
export interface LevelledMap {
  /**
   * Share of the map's own relative contrast in the delivered map. Null: the map is delivered as uploaded. 1: it is
   * re-encoded brighter. Less than 1: it is also flatter, since no surface reflects more than all light.
   */
  readonly contrast: number | null;
  /** `baseColorFactor` in linear light, each channel 0–1. */
  readonly factor: LinearRgb;
  /** Area mean of factor × delivered map, in linear light. */
  readonly mean: LinearRgb;
  /** Largest share of texels, 0–1, whose highlights are clipped to white in a channel. */
  readonly clipped: number;
}

/** The result for a map that is delivered unchanged and keeps its own mean. */
export function keepMap(counts: CodeCounts): LevelledMap {
  return { contrast: null, factor: [1, 1, 1], mean: meanOf(counts), clipped: 0 };
}

/**
 * Contrasts for re-encoding. Finishes that need about the same contrast share one re-encoded map, so there are few
 * steps. Below a twentieth the pattern is invisible; the remaining error is reported as a distance. Judgement.
 */
export const CONTRASTS = [1, 0.8, 0.6, 0.45, 0.3, 0.2, 0.1, 0.05] as const;

/** ΔE00 that a factor limited to 1 may leave before the map is re-encoded: a tenth of what a trained eye sees. */
const REACHED = 0.1;

/** Share of the lightest texels that may be clipped to white. Otherwise single glints would darken the whole map. */
const GLINTS = 0.002;

/** A channel with a lower mean has too few codes for a pattern, so it is levelled flat. Five codes of 255. */
const LEAST_MEAN = LINEAR_CODES[5]!;

/**
 * Levels a colour map so that its mean in linear light is the target: the factor is target ÷ mean, channel by channel.
 * If a factor would exceed 1, the map is re-encoded brighter and, if that is not enough, flatter.
 * @param target linear RGB, 0–1
 */
export function levelMap(target: LinearRgb, counts: CodeCounts): LevelledMap {
  const asItIs = limitFactor(target, meanOf(counts), null, 0);
  if (isReached(target, asItIs)) return asItIs;
  let levelled = asItIs;
  for (const contrast of CONTRASTS) {
    const { mean, clipped } = measureLevelled(counts, contrast);
    levelled = limitFactor(target, mean, contrast, clipped);
    if (isReached(target, levelled)) break;
  }
  return levelled;
}

/**
 * The factor that brings a mean to the target, limited to 1.
 * @param mapMean of the delivered map, linear light
 */
export function limitFactor(
  target: LinearRgb,
  mapMean: LinearRgb,
  contrast: number | null,
  clipped: number,
): LevelledMap {
  const factor = mapChannels((c) => (target[c] === 0 ? 0 : Math.min(1, target[c] / mapMean[c])));
  return { contrast, factor, mean: mapChannels((c) => factor[c] * mapMean[c]), clipped };
}

function isReached(target: LinearRgb, { mean }: LevelledMap): boolean {
  if (mapChannels((c) => Math.abs(target[c] - mean[c])).every((off) => off < 1e-9)) return true;
  return deltaE2000(linearToLab(target), linearToLab(mean)) <= REACHED;
}

/** Area mean of a map in linear light: each sRGB code decoded (IEC 61966-2-1), then averaged over the texels. */
export function meanOf(counts: CodeCounts): LinearRgb {
  return mapChannels((c) => meanLight(counts[c]));
}

/**
 * The new code of each code in a map re-encoded at a contrast, for red, green and blue. A texel of s times its
 * channel's mean becomes 1 + contrast × (s − 1) times the new mean, and the lightest texel becomes white.
 */
export function makeLevelTables(counts: CodeCounts, contrast: number): LevelTables {
  const make = (count: readonly number[]) => {
    const mean = meanLight(count);
    if (mean < LEAST_MEAN) return new Uint8Array(256).fill(255);
    const peak = 1 + contrast * (LINEAR_CODES[findPeak(count)]! / mean - 1);
    return Uint8Array.from(LINEAR_CODES, (light) => toCode((1 + contrast * (light / mean - 1)) / peak));
  };
  return [make(counts[0]), make(counts[1]), make(counts[2])];
}

/** The type of a re-encoded map. A JPEG stays a JPEG, since the PNG of a scan is six times as large. */
export function findLevelledType(mimeType: string): 'image/jpeg' | 'image/png' {
  return mimeType === 'image/jpeg' ? mimeType : 'image/png';
}

/** Facts about a map at one contrast, equal for every finish with the map. */
interface Measured {
  readonly mean: LinearRgb;
  readonly clipped: number;
}

const measured = new WeakMap<CodeCounts, Map<number, Measured>>();

function measureLevelled(counts: CodeCounts, contrast: number): Measured {
  const known = measured.get(counts) ?? new Map<number, Measured>();
  measured.set(counts, known);
  let found = known.get(contrast);
  if (!found) {
    const tables = makeLevelTables(counts, contrast);
    found = {
      mean: mapChannels((c) => average(counts[c], (code) => LINEAR_CODES[tables[c]![code]!]!)),
      clipped: Math.max(...counts.map((count) => (meanLight(count) < LEAST_MEAN ? 0 : shareAbove(count)))),
    };
    known.set(contrast, found);
  }
  return found;
}

/** The lightest code, ignoring glints. */
function findPeak(count: readonly number[]): number {
  const texels = sum(count);
  let above = 0;
  let code = 255;
  for (; code > 0; code--) {
    above += count[code]!;
    if (above > texels * GLINTS) break;
  }
  return code;
}

function shareAbove(count: readonly number[]): number {
  return sum(count.slice(findPeak(count) + 1)) / sum(count);
}

function meanLight(count: readonly number[]): number {
  return average(count, (code) => LINEAR_CODES[code]!);
}

function average(count: readonly number[], lightOf: (code: number) => number): number {
  let total = 0;
  for (let code = 0; code < 256; code++) if (count[code]! > 0) total += count[code]! * lightOf(code);
  return total / sum(count);
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

function mapChannels(of: (channel: 0 | 1 | 2) => number): LinearRgb {
  return [of(0), of(1), of(2)];
}
