import type { Illuminant, Observer, Spectrum } from '../finish/finish.ts';
import { type Lab, labToXyz, WHITE_POINTS, type Xyz, xyzToLab } from './lab.ts';
import { integrateSpectrum } from './spectrum.ts';

export interface TwoDegreeEstimate {
  /** Lab under the same illuminant, for the 2° observer. */
  readonly lab2: Lab;
  /** The usual distance between such an estimate and the colour of the true spectrum, as ΔE00. */
  readonly band: TwoDegreeBand;
  /**
   * False when no reflectance from 0 to 1 has the given Lab: it is brighter or more saturated than a surface can be.
   */
  readonly exact: boolean;
}

export interface TwoDegreeBand {
  /** More than half of all estimates are within this distance. */
  readonly typicalDeltaE: number;
  /** Nineteen of twenty estimates are within this distance. */
  readonly worstDeltaE: number;
}

/**
 * Measured with 20,000 invented surfaces as smooth as those of colourants: edges, bands and pairs of bands. The CIE's
 * tables give what each observer sees. The median ΔE00 is 0.58 under D65 and 0.56 under D50; 95 of 100 are within 2.95
 * and 2.71. Both are rounded up. Reading the 10° figures as 2° has an error of 2.3 (2.0 under D50), and of more than 5
 * for one in twenty.
 * This is no bound: spectra that are made to share the three numbers can differ more.
 */
export const TWO_DEGREE_BAND: TwoDegreeBand = { typicalDeltaE: 0.6, worstDeltaE: 3 };

/**
 * Converts Lab of the 10° observer to Lab of the 2° observer, through the smoothest reflectance that has it. Three
 * numbers do not determine the spectrum, so this is an estimate: state the band wherever the colour is used.
 * A colour that no surface can have is moved towards grey until one can. The ratios of X, Y and Z there are then
 * applied to the given colour.
 */
export function estimateTwoDegree(lab: Lab, illuminant: Illuminant): TwoDegreeEstimate {
  const xyz10 = labToXyz(lab, illuminant, '10deg');
  const { spectrum, exact } = estimateSmoothSpectrum(xyz10, illuminant, '10deg');
  const got2 = integrateSpectrum(spectrum, illuminant, '2deg');
  const got10 = integrateSpectrum(spectrum, illuminant, '10deg');
  const carry = (i: 0 | 1 | 2) => (exact || got10[i] <= 0 ? got2[i] : (got2[i] * xyz10[i]) / got10[i]);
  return { lab2: xyzToLab([carry(0), carry(1), carry(2)], illuminant, '2deg'), band: TWO_DEGREE_BAND, exact };
}

interface SmoothSpectrum {
  readonly spectrum: Spectrum;
  /** False when no reflectance from 0 to 1 has this colour; `spectrum` is then that of a colour nearer to grey. */
  readonly exact: boolean;
}

const START_NM = 380;
const STEP_NM = 10;
/** Every 10 nm from 380 to 730 nm. */
const COUNT = 36;
/** The search works for Y between these. A colour outside them is scaled into the range, solved and scaled back. */
const DARKEST = 0.05;
const LIGHTEST = 99.95;
/** Rounding of a white given as Y = 100. */
const ROUNDING = 1e-6;
/** Number of halvings between the colour and the grey of the same lightness, for colours that no surface can have. */
const HALVINGS = 6;

/**
 * Finds the smoothest reflectance from 0 to 1 that has a given XYZ. Smoothest means: the logit of the reflectance, ln(r
 * / (1 − r)), has the least sum of squared steps over 380–730 nm. The logit keeps r between 0 and 1 by itself. S. A.
 * Burns 2019 does the same with the hyperbolic tangent, which is the logit except for a factor.
 * @param xyz Y of the white is 100
 */
export function estimateSmoothSpectrum(xyz: Xyz, illuminant: Illuminant, observer: Observer): SmoothSpectrum {
  const weights = findWeights(illuminant, observer);
  const white = WHITE_POINTS[illuminant][observer];
  const lightness = Math.min(LIGHTEST, Math.max(DARKEST, xyz[1]));
  const scale = xyz[1] > 0 ? xyz[1] / lightness : 0;
  const grey = scaleXyz(white, lightness / 100);
  const target = scale > 0 ? scaleXyz(xyz, 1 / scale) : grey;
  const finish = (values: readonly number[], exact: boolean): SmoothSpectrum => ({
    spectrum: makeSpectrum(values.map((value) => Math.min(1, value * scale))),
    exact,
  });

  const solved = solveSmoothest(target, weights);
  if (solved) return finish(solved, xyz[1] <= 100 + ROUNDING);
  let best = new Array<number>(COUNT).fill(lightness / 100);
  let low = 0;
  let high = 1;
  for (let i = 0; i < HALVINGS; i++) {
    const share = (low + high) / 2;
    const nearer = solveSmoothest(mixXyz(grey, target, share), weights);
    if (nearer) {
      best = nearer;
      low = share;
    } else high = share;
  }
  return finish(best, false);
}

function scaleXyz([x, y, z]: Xyz, factor: number): Xyz {
  return [x * factor, y * factor, z * factor];
}

function mixXyz(a: Xyz, b: Xyz, share: number): Xyz {
  return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share];
}

function makeSpectrum(values: readonly number[]): Spectrum {
  return { startNm: START_NM, stepNm: STEP_NM, values };
}

type Weights = readonly (readonly number[])[];

const found = new Map<string, Weights>();

/**
 * The amount that reflectance 1 at each wavelength adds to X, Y and Z, as shares of 100. It comes from
 * `integrateSpectrum` itself, which is linear in the readings.
 */
function findWeights(illuminant: Illuminant, observer: Observer): Weights {
  const key = `${illuminant}/${observer}`;
  const known = found.get(key);
  if (known) return known;
  const single = Array.from({ length: COUNT }, (_, at) =>
    integrateSpectrum(makeSpectrum(Array.from({ length: COUNT }, (_, i) => (i === at ? 1 : 0))), illuminant, observer),
  );
  const weights = [0, 1, 2].map((k) => single.map((xyz) => xyz[k]! / 100));
  found.set(key, weights);
  return weights;
}

/** Greatest number of Newton steps; colours of surfaces take two to six. */
const STEPS = 30;
/** Smallest part of a step that is tried before the search stops. */
const LEAST_PART = 1 / 256;
/** Greatest difference in XYZ, as a share of 100, that counts as a match. */
const MET = 1e-9;
/** A logit beyond this is practically 0 or 1: a colour that needs it is not a surface colour. */
const STEEPEST = 40;

/**
 * Solves Lagrange's conditions for the least slope with three given sums, by Newton's method. Null where it finds no
 * answer.
 */
function solveSmoothest(xyz: Xyz, weights: Weights): number[] | null {
  const grey = xyz[1] / 100;
  const size = COUNT + weights.length;
  let state = new Array<number>(size).fill(0).fill(Math.log(grey / (1 - grey)), 0, COUNT);
  let residuals = listResiduals(state, xyz, weights);
  for (let step = 0; step < STEPS; step++) {
    if (Math.max(...residuals.map(Math.abs)) < MET) return state.slice(0, COUNT).map(squash);
    const move = solveLinear(makeSlopes(state, weights, residuals));
    if (!move) return null;
    let part = 1;
    let next = state;
    let nextResiduals = residuals;
    do {
      next = state.map((value, i) => value + part * move[i]!);
      nextResiduals = listResiduals(next, xyz, weights);
      part /= 2;
    } while (part >= LEAST_PART && !(length(nextResiduals) < length(residuals)));
    if (!(length(nextResiduals) < length(residuals))) return null;
    if (next.slice(0, COUNT).some((value) => !(Math.abs(value) < STEEPEST))) return null;
    state = next;
    residuals = nextResiduals;
  }
  return null;
}

function length(values: readonly number[]): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value * value, 0));
}

function squash(logit: number): number {
  return 1 / (1 + Math.exp(-logit));
}

/** The residuals of the conditions: the slope of each wavelength, then X, Y and Z. */
function listResiduals(state: readonly number[], xyz: Xyz, weights: Weights): number[] {
  const residuals = new Array<number>(state.length).fill(0);
  for (let i = 0; i < COUNT; i++) {
    const r = squash(state[i]!);
    const before = i > 0 ? state[i]! - state[i - 1]! : 0;
    const after = i + 1 < COUNT ? state[i + 1]! - state[i]! : 0;
    residuals[i] = before - after + r * (1 - r) * sumMultipliers(i, state, weights);
    weights.forEach((weight, k) => {
      residuals[COUNT + k]! += weight[i]! * r;
    });
  }
  weights.forEach((_, k) => {
    residuals[COUNT + k]! -= xyz[k]! / 100;
  });
  return residuals;
}

/** Sum of the multipliers of X, Y and Z at a wavelength. */
function sumMultipliers(at: number, state: readonly number[], weights: Weights): number {
  return weights.reduce((sum, weight, k) => sum + weight[at]! * state[COUNT + k]!, 0);
}

/** Derivatives of the conditions, each row with its right-hand side at the end. */
function makeSlopes(state: readonly number[], weights: Weights, residuals: readonly number[]): number[][] {
  const rows = state.map((_, i) => {
    const row = new Array<number>(state.length + 1).fill(0);
    row[state.length] = -residuals[i]!;
    return row;
  });
  for (let i = 0; i < COUNT; i++) {
    const r = squash(state[i]!);
    const slope = r * (1 - r);
    const row = rows[i]!;
    row[i] = (i > 0 ? 1 : 0) + (i + 1 < COUNT ? 1 : 0) + slope * (1 - 2 * r) * sumMultipliers(i, state, weights);
    if (i > 0) row[i - 1] = -1;
    if (i + 1 < COUNT) row[i + 1] = -1;
    weights.forEach((weight, k) => {
      row[COUNT + k] = slope * weight[i]!;
      rows[COUNT + k]![i] = slope * weight[i]!;
    });
  }
  return rows;
}

/**
 * Solves a system of linear equations by elimination with pivots.
 * @param rows one per unknown, each with its right-hand side at the end; changed in place
 * @returns null if there is no single answer
 */
export function solveLinear(rows: number[][]): number[] | null {
  const size = rows.length;
  for (let column = 0; column < size; column++) {
    let best = column;
    for (let r = column + 1; r < size; r++) {
      if (Math.abs(rows[r]![column]!) > Math.abs(rows[best]![column]!)) best = r;
    }
    const top = rows[best]!;
    rows[best] = rows[column]!;
    rows[column] = top;
    if (!(Math.abs(top[column]!) > 1e-14)) return null;
    for (let r = column + 1; r < size; r++) {
      const row = rows[r]!;
      const factor = row[column]! / top[column]!;
      if (factor === 0) continue;
      for (let c = column; c <= size; c++) row[c]! -= factor * top[c]!;
    }
  }
  const answer = new Array<number>(size).fill(0);
  for (let r = size - 1; r >= 0; r--) {
    const row = rows[r]!;
    let rest = row[size]!;
    for (let c = r + 1; c < size; c++) rest -= row[c]! * answer[c]!;
    answer[r] = rest / row[r]!;
  }
  return answer;
}
