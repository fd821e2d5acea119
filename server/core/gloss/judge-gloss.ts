import type { Family, GlossReading } from '../finish/finish.ts';
import { GLOSS_LIMITS, GLOSS_OBSTACLES } from '../texts/finish-notes.ts';
import {
  type CoatedGround,
  coatRoughnessFromGloss,
  type Ground,
  glossFromCoat,
  glossFromRoughness,
  roughnessFromGloss,
} from './gloss-fit.ts';
import type { GlossAngle } from './gloss-integral.ts';

/** A gloss reading and the known properties of its surface. */
export interface GlossCase extends GlossReading, Ground {
  readonly family: Family;
  /** The maker says the surface has a texture: fine-texture powder, grained plastic. */
  readonly textured: boolean;
  /** glTF's metallic, for the whole surface. */
  readonly metal: boolean;
  /** The surface has a normal or a roughness map. A colour map does not count. */
  readonly hasMaps: boolean;
  /** Factor of the clearcoat, 0–1; above 0, the reading is that of the coat. */
  readonly clearcoat: number;
  /** Roughness of the ground below a clearcoat, 0–1; 0.5 where it is not given. */
  readonly roughness?: number;
  /** Light passes through the surface (`KHR_materials_transmission`). */
  readonly transparent?: boolean;
}

/** The layer whose roughness the reading gives. */
export type GlossLayer = 'base' | 'clearcoat';

export type GlossVerdict =
  | {
      readonly kind: 'inverted';
      readonly layer: GlossLayer;
      /** glTF perceptual roughness of that layer, 0–1. */
      readonly roughness: number;
      /** Angle and reading that it is computed from. */
      readonly angle: GlossAngle;
      readonly gu: number;
      /**
       * The reading that a meter would give of the result at `angle`: `gu`, or a little more where even roughness 1 is
       * glossier.
       */
      readonly shownGu: number;
      /** The reading at 60°; without one, the reading that the result would have there. */
      readonly gu60: number;
      /** Gloss units that the trade allows either way at `gu60`. */
      readonly tolerance: number;
    }
  | {
      readonly kind: 'out-of-reach';
      readonly side: 'above' | 'below';
      readonly layer: GlossLayer;
      /** The nearest roughness: 0 for a reading above the range, 1 for one below. */
      readonly roughness: number;
      readonly angle: GlossAngle;
      readonly gu: number;
      readonly limitGu: number;
      /** Index of refraction, up to 2.5 and rounded up to 0.01, with a mirror that reaches the reading. */
      readonly coatIor?: number;
      /** The reading of a smooth glTF clearcoat of factor 1 over this ground. */
      readonly coatLimitGu?: number;
      readonly message: string;
    }
  | { readonly kind: 'not-inverted'; readonly reason: string };

/**
 * Converts a gloss reading to a roughness where that is possible: for smooth coatings on a flat, opaque ground (the
 * scope of ISO 2813). It converts none for cloth, open-pore wood, metals, glass, stone, paper, leather, or anything
 * with a texture. Only gloss units count: satin, matt and similar words differ by supplier.
 *
 * Readings at several angles rarely fit one lobe: real matt surfaces are glossier at 85° than GGX. Only one angle is
 * used: the one that ASTM D523 asks for if it is there, else 60°, else any.
 *
 * @throws Problem `gloss-incomplete` for a reading that is negative or not a number
 */
export function judgeGloss(given: GlossCase): GlossVerdict {
  const reading = findReading(given);
  if (reading === undefined) return { kind: 'not-inverted', reason: GLOSS_OBSTACLES.none };
  const reason = findObstacle(given);
  if (reason !== undefined) return { kind: 'not-inverted', reason };

  const { angle, gu } = reading;
  const coated = given.clearcoat > 0;
  const layer: GlossLayer = coated ? 'clearcoat' : 'base';
  const ground = coatedGround(given, given.clearcoat);
  const fitted = coated ? coatRoughnessFromGloss(gu, angle, ground) : roughnessFromGloss(gu, angle, given);
  const { roughness } = fitted;
  const show = (at: GlossAngle) =>
    coated ? glossFromCoat(roughness, at, ground) : glossFromRoughness(roughness, at, given);
  const gu60 = given.gu60 ?? show(60);
  const tolerance = glossTolerance(gu60);
  const above = gu > fitted.limitGu;
  if (fitted.reachable || (!above && fitted.limitGu - gu <= tolerance)) {
    return { kind: 'inverted', layer, roughness, angle, gu, shownGu: show(angle), gu60, tolerance };
  }

  const limitGu = fitted.limitGu;
  const missed = { kind: 'out-of-reach', layer, roughness, angle, gu, limitGu } as const;
  if (!above) return { ...missed, side: 'below', message: GLOSS_LIMITS.below(gu, angle, limitGu, coated) };
  if (coated) return { ...missed, side: 'above', message: GLOSS_LIMITS.aboveCoat(gu, angle, limitGu) };
  const coatIor = findIor(gu, angle, given);
  const coatLimitGu = glossFromCoat(0, angle, coatedGround(given, 1));
  const message = GLOSS_LIMITS.above(gu, angle, given.ior, limitGu, coatIor, coatLimitGu);
  return { ...missed, side: 'above', coatIor, coatLimitGu, message };
}

/**
 * Ground under a clearcoat without a stated roughness: it neither adds a highlight of its own nor is completely matt.
 */
const GROUND_ROUGHNESS = 0.5;

/** The highest index a surface may have (`Surface.ior`). */
const HIGHEST_IOR = 2.5;

/** Families whose readings are never converted. */
const UNREAD = ['anodised', 'plated', 'bare-metal', 'textile', 'leather', 'glass', 'stone', 'paper'] as const;

function findObstacle(given: GlossCase): string | undefined {
  const family = UNREAD.find((unread) => unread === given.family);
  if (family) return GLOSS_OBSTACLES[family];
  if (given.metal) return GLOSS_OBSTACLES.metal;
  if (given.transparent) return GLOSS_OBSTACLES.transparent;
  if (given.textured) return GLOSS_OBSTACLES.textured;
  // a clearcoat is smooth over the maps of the wood below it
  if (given.family === 'wood') return given.clearcoat > 0 ? undefined : GLOSS_OBSTACLES.wood;
  return given.hasMaps ? GLOSS_OBSTACLES.maps : undefined;
}

function findReading(given: GlossReading): { readonly angle: GlossAngle; readonly gu: number } | undefined {
  const { gu20, gu60, gu85 } = given;
  if (gu60 !== undefined) {
    const angle = chooseAngle(gu60);
    if (angle === 20 && gu20 !== undefined) return { angle, gu: gu20 };
    if (angle === 85 && gu85 !== undefined) return { angle, gu: gu85 };
    return { angle: 60, gu: gu60 };
  }
  if (gu20 !== undefined) return { angle: 20, gu: gu20 };
  return gu85 === undefined ? undefined : { angle: 85, gu: gu85 };
}

function coatedGround(given: GlossCase, factor: number): CoatedGround {
  const { ior, luminance, roughness = GROUND_ROUGHNESS } = given;
  return { ior, luminance, roughness, factor };
}

/** The lowest index, in hundredths, with a mirror over this ground that reaches the reading. */
function findIor(gu: number, angle: GlossAngle, { ior, luminance }: Ground): number | undefined {
  for (let hundredths = Math.ceil(ior * 100); hundredths <= HIGHEST_IOR * 100; hundredths += 1) {
    if (glossFromRoughness(0, angle, { ior: hundredths / 100, luminance }) >= gu) return hundredths / 100;
  }
  return undefined;
}

/**
 * Angle to measure at, from the reading at 60°: 20° above 70 gloss units, 85° below 10, 60° between (ASTM D523; ISO
 * 2813 has the same bounds). Words such as satin or matt differ by supplier and decide nothing.
 */
export function chooseAngle(gu60: number): GlossAngle {
  if (gu60 > 70) return 20;
  return gu60 < 10 ? 85 : 60;
}

/**
 * The tolerance of a coater around a nominal gloss at 60°, in gloss units either way: 5 up to 30, 7 up to 70, 10 above
 * (Qualicoat, as quoted in the trade).
 */
export function glossTolerance(gu60: number): number {
  if (gu60 <= 30) return 5;
  return gu60 <= 70 ? 7 : 10;
}
