import { hexToLinear, type LinearRgb } from '../colour/srgb.ts';
import type { SuppliedMaterial } from './finish.ts';

/** What a finish says otherwise than its supplied material; null where they agree, and the material stays as it is. */
export interface SuppliedChange {
  /** Mean colour of the material and the one it is to have, linear RGB. */
  readonly baseColour: { readonly from: LinearRgb; readonly to: LinearRgb } | null;
  /** 0–1. */
  readonly roughness: { readonly from: number; readonly to: number } | null;
  readonly metalness: 0 | 1 | null;
}

/**
 * Compares a finish with what was read of its material when it was taken in.
 * @param colour the finish's own, as hex and unrounded
 * @returns null when the material is to be delivered to the letter
 */
export function changeSupplied(
  { says }: SuppliedMaterial,
  colour: { readonly hex: string; readonly rgb: LinearRgb },
  roughness: number,
  metalness: 0 | 1,
): SuppliedChange | null {
  if (!says) return null;
  const change: SuppliedChange = {
    baseColour: colour.hex === says.hex ? null : { from: hexToLinear(says.hex), to: colour.rgb },
    roughness: roughness === says.roughness ? null : { from: says.roughness, to: roughness },
    metalness: (metalness === 1) === says.metal ? null : metalness,
  };
  return change.baseColour || change.roughness || change.metalness !== null ? change : null;
}
