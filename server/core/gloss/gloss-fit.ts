import { Problem } from '../problems.ts';
import { COLOUR_PROBLEMS } from '../texts/problems/finish.ts';
import { f0FromIor, schlickReflectance } from './fresnel.ts';
import {
  CLEARCOAT_IOR,
  type GlossAngle,
  integrateSpecular,
  mirrorGloss,
  RECEPTOR_APERTURES,
  REFERENCE_IOR,
} from './gloss-integral.ts';

/**
 * Other properties that a gloss meter measures besides roughness: index of refraction (1 or more) and luminance Y of
 * the base colour, 0–1.
 */
export interface Ground {
  readonly ior: number;
  readonly luminance: number;
}

/** A ground of known roughness (0–1) under a glTF clearcoat of this factor (0–1). */
export interface CoatedGround extends Ground {
  readonly roughness: number;
  readonly factor: number;
}

/**
 * Roughness for a reading. Where no roughness gives the reading, `reachable` is false and `roughness` is the nearest: 0
 * for a reading above that of the mirror, 1 for one below that of full roughness (a light ground alone reads up to 3 at
 * 60°).
 * `limitGu` is the limit that the reading is beyond, and otherwise the upper limit.
 */
interface FittedRoughness {
  readonly roughness: number;
  readonly reachable: boolean;
  readonly limitGu: number;
}

/**
 * Gloss units of a glTF dielectric, and roughness from gloss units, by a fit to `integrateGloss` that needs no
 * integral.
 *
 *     GU = 100 · F(n, θ) / F(1.567, θ) · share(roughness, θ) + diffuse(n, θ) · Y
 *
 * F is Schlick's at the meter's angle, for the sample and the black glass alike. `share` is the part of the lobe that
 * the receptor receives, from `SPECULAR_SHARES` by monotone cubics over the fourth root of −ln share. The last term is
 * Lambert's in closed form. One table serves every index, since F is linear in F0 and nearly even over the receptor.
 *
 * Largest errors against the integral, in gloss units, over all three angles, roughness 0–1 and Y 0–1: `gu` for indices
 * up to 1.6, `guAnyIor` up to 2.5 (where a mirror reads 376 at 20°), and `coatGu` for a clearcoat, whose Schlick term
 * glTF takes at the normal. The trade's tolerance starts at 5. A call takes about a microsecond.
 */
export const FIT_ERROR = { gu: 0.05, guAnyIor: 0.15, coatGu: 0.3 } as const;

/** Gloss units at this angle, of a ground of this roughness (0–1). The value falls strictly as the roughness rises. */
export function glossFromRoughness(roughness: number, angle: GlossAngle, ground: Ground): number {
  return specularScale(ground.ior, angle) * shareAt(roughness, angle) + diffuseGloss(ground, angle);
}

/**
 * The inverse of `glossFromRoughness`.
 *
 * @throws Problem `gloss-incomplete` for a reading that is negative or not a number
 */
export function roughnessFromGloss(gu: number, angle: GlossAngle, ground: Ground): FittedRoughness {
  return invert(gu, angle, specularScale(ground.ior, angle), diffuseGloss(ground, angle));
}

/** Gloss units at this angle, of a clearcoat of this roughness (0–1) over this ground. */
export function glossFromCoat(coatRoughness: number, angle: GlossAngle, ground: CoatedGround): number {
  return ground.factor * specularScale(CLEARCOAT_IOR, angle) * shareAt(coatRoughness, angle) + belowCoat(ground, angle);
}

/**
 * The inverse of `glossFromCoat`: roughness of the coat for a reading of coat and ground together.
 *
 * @throws Problem `gloss-incomplete` for a reading that is negative or not a number
 */
export function coatRoughnessFromGloss(gu: number, angle: GlossAngle, ground: CoatedGround): FittedRoughness {
  return invert(gu, angle, ground.factor * specularScale(CLEARCOAT_IOR, angle), belowCoat(ground, angle));
}

/** Step between the knots of the table, in roughness. */
export const KNOT_STEP = 0.02;

/** Computes the table from the integral, for index 1.5, to six digits: the contents of `SPECULAR_SHARES`. */
export function tabulateShares(angle: GlossAngle): readonly number[] {
  const mirror = mirrorGloss(1.5, angle);
  return Array.from({ length: Math.round(1 / KNOT_STEP) + 1 }, (_, index) => {
    const share = integrateSpecular(index * KNOT_STEP, angle, f0FromIor(1.5)) / mirror;
    return Number(share.toPrecision(6));
  });
}

/** Gloss units of the mirror of this index. */
function specularScale(ior: number, angle: GlossAngle): number {
  return (100 * schlickReflectance(ior, angle)) / schlickReflectance(REFERENCE_IOR, angle);
}

/** Gloss units of a Lambertian ground: (1 − F) · Y / π over the receptor's solid angle, foreshortened. */
function diffuseGloss(ground: Ground, angle: GlossAngle): number {
  const { inPlane, across } = RECEPTOR_APERTURES[angle];
  // solid angle of a rectangular window seen from above its centre
  const solidAngle = 4 * Math.asin(Math.sin(radians(inPlane) / 2) * Math.sin(radians(across) / 2));
  const luminance = (ground.luminance * (1 - schlickReflectance(ground.ior, angle))) / Math.PI;
  return (100 * luminance * solidAngle * Math.cos(radians(angle))) / schlickReflectance(REFERENCE_IOR, angle);
}

/** Gloss units of the ground seen through a clearcoat, which glTF dims by factor × Fresnel at the normal. */
function belowCoat(ground: CoatedGround, angle: GlossAngle): number {
  const kept = 1 - ground.factor * schlickReflectance(CLEARCOAT_IOR, angle);
  return kept * glossFromRoughness(ground.roughness, angle, ground);
}

function invert(gu: number, angle: GlossAngle, scale: number, offset: number): FittedRoughness {
  if (!(gu >= 0 && gu < Number.POSITIVE_INFINITY)) {
    throw new Problem('gloss-incomplete', {
      detail: COLOUR_PROBLEMS['gloss-incomplete'].outsideRange(gu),
      expected: 'gloss units, 0 or more',
      received: String(gu),
    });
  }
  const highest = scale + offset;
  if (gu > highest) return { roughness: 0, reachable: false, limitGu: highest };
  const lowest = scale * shareAt(1, angle) + offset;
  if (gu < lowest) return { roughness: 1, reachable: false, limitGu: lowest };
  return { roughness: scale === 0 ? 0 : roughnessAt((gu - offset) / scale, angle), reachable: true, limitGu: highest };
}

/**
 * Part of the specular lobe that a gloss meter's receptor receives, by angle, for roughness 0, 0.02, … 1: the integral
 * for index 1.5 over its mirror limit, to six digits. `tabulateShares` makes it; a test makes it again and compares.
 */
export const SPECULAR_SHARES: Readonly<Record<GlossAngle, readonly number[]>> = {
  20: [
    1, 0.998128, 0.971307, 0.87605, 0.711077, 0.529255, 0.374641, 0.259625, 0.179342, 0.124801, 0.0880204, 0.0631157,
    0.0460668, 0.0342227, 0.0258579, 0.0198498, 0.0154623, 0.0122073, 0.00975651, 0.00788553, 0.00643886, 0.00530698,
    0.0044117, 0.0036964, 0.00311956, 0.00265036, 0.00226565, 0.00194786, 0.00168354, 0.00146228, 0.00127593,
    0.00111811, 0.000983737, 0.000868763, 0.000769925, 0.000684586, 0.000610596, 0.000546193, 0.000489927, 0.000440598,
    0.000397206, 0.000358916, 0.000325026, 0.000294946, 0.000268174, 0.000244284, 0.000222915, 0.000203754, 0.000186536,
    0.00017103, 0.000157037,
  ],
  60: [
    1, 0.99978, 0.996467, 0.98242, 0.947328, 0.884226, 0.795944, 0.694415, 0.593034, 0.500568, 0.420428, 0.35266,
    0.295883, 0.248399, 0.208652, 0.175346, 0.147428, 0.124037, 0.104454, 0.0880734, 0.0743796, 0.0629326, 0.0533594,
    0.0453453, 0.0386266, 0.0329834, 0.0282336, 0.0242264, 0.0208374, 0.0179641, 0.0155219, 0.013441, 0.0116638,
    0.0101424, 0.00883703, 0.00771464, 0.00674758, 0.00591269, 0.00519055, 0.00456476, 0.0040215, 0.00354906, 0.0031375,
    0.00277838, 0.00246449, 0.0021897, 0.00194874, 0.00173711, 0.00155095, 0.00138693, 0.00124221,
  ],
  85: [
    1, 0.999693, 0.995266, 0.977102, 0.93315, 0.857096, 0.755306, 0.643285, 0.535587, 0.440297, 0.359759, 0.293244,
    0.2389, 0.194719, 0.158881, 0.129841, 0.106316, 0.0872514, 0.0717878, 0.0592261, 0.0490017, 0.0406603, 0.0338374,
    0.0282414, 0.0236386, 0.0198421, 0.0167018, 0.0140971, 0.0119307, 0.0101243, 0.00861394, 0.00734804, 0.00628434,
    0.00538835, 0.0046318, 0.00399146, 0.00344817, 0.00298614, 0.00259229, 0.00225578, 0.00196758, 0.00172019,
    0.00150735, 0.00132381, 0.00116519, 0.0010278, 0.000908531, 0.000804773, 0.000714315, 0.000635285, 0.000566098,
  ],
};

/**
 * Shares transformed to a nearly straight line, and the slopes there by step (Fritsch and Carlson 1980: no overshoot).
 */
interface Curve {
  readonly values: readonly number[];
  readonly slopes: readonly number[];
}

const CURVES: Readonly<Record<GlossAngle, Curve>> = {
  20: makeCurve(SPECULAR_SHARES[20]),
  60: makeCurve(SPECULAR_SHARES[60]),
  85: makeCurve(SPECULAR_SHARES[85]),
};

function makeCurve(shares: readonly number[]): Curve {
  const values = shares.map(bend);
  const rises = values.slice(1).map((value, index) => value - values[index]!);
  const slopes = values.map((_, index) => {
    const before = rises[index - 1];
    const after = rises[index];
    if (before === undefined) return after!;
    if (after === undefined) return before;
    return Math.min((before + after) / 2, 3 * before, 3 * after);
  });
  return { values, slopes };
}

/**
 * Near roughness 0 a share falls with the fourth power of the roughness; the fourth root of −ln share is close to a
 * straight line.
 */
function bend(share: number): number {
  return Math.sqrt(Math.sqrt(-Math.log(share)));
}

function shareAt(roughness: number, angle: GlossAngle): number {
  const curve = CURVES[angle];
  const place = Math.min(Math.max(roughness, 0), 1) / KNOT_STEP;
  const knot = Math.min(Math.floor(place), curve.values.length - 2);
  return Math.exp(-(valueAt(curve, knot, place - knot) ** 4));
}

function roughnessAt(share: number, angle: GlossAngle): number {
  const curve = CURVES[angle];
  const wanted = bend(share);
  let low = 0;
  let high = curve.values.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (curve.values[middle]! <= wanted) low = middle;
    else high = middle;
  }
  // the cubic rises within its interval, so bisection finds the place; 40 steps give the twelfth digit
  let from = 0;
  let to = 1;
  for (let step = 0; step < 40; step += 1) {
    const middle = (from + to) / 2;
    if (valueAt(curve, low, middle) <= wanted) from = middle;
    else to = middle;
  }
  return Math.min((low + from) * KNOT_STEP, 1);
}

/** Hermite's cubic on the interval after a knot, at position 0–1 in it. */
function valueAt(curve: Curve, knot: number, at: number): number {
  const from = curve.values[knot]!;
  const rise = curve.values[knot + 1]! - from;
  const slope = curve.slopes[knot]!;
  const next = curve.slopes[knot + 1]!;
  return from + at * (slope + at * (3 * rise - 2 * slope - next + at * (slope + next - 2 * rise)));
}

function radians(degrees: number): number {
  return (degrees * Math.PI) / 180;
}
