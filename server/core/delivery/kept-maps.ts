import { METAL_MAP } from '../product/model-facts.ts';
import type { Slot } from '../product/slot.ts';
import type { NeutralDetail, Survey, SurveyedPrimitive } from '../product/survey.ts';

/** A part's roughness map, kept as relative wear under whatever finish is laid on it. */
export interface Wear {
  /** Mean of the green channel, which glTF reads as roughness (linear); above 0 and at most 1. */
  readonly mean: number;
  /** Whether the blue channel, which glTF reads as metalness, is full all over: what a metal finish needs. */
  readonly fullMetal: boolean;
}

/** Channels of a metal-roughness map (glTF 2.0 §3.9.2). */
const GREEN = 1;
const BLUE = 2;

/**
 * Codes of 8 bits that an encoder's rounding may move a plain value by: a map whose roughness varies by no more is a
 * factor in disguise, and a metalness that lacks no more is full. The survey calls an image constant by the same measure.
 */
const ROUNDING = 2.5 / 255;

/**
 * The wear that a slot keeps of a part: null where it is not kept, where the part has no UVs, no roughness map or one that
 * could not be measured, where the map says the same all over, and where the material's own factor of 0 hides it.
 * Slots stored before there was such a choice say nothing of it, and keep it.
 */
export function findWear(
  slot: Slot,
  { material: index, uvSets }: Pick<SurveyedPrimitive, 'material' | 'uvSets'>,
  survey: Survey,
): Wear | null {
  if (slot.keep.wear === false || index === null || uvSets === 0) return null;
  const material = survey.materials[index];
  if (!material || material.factors.roughness === 0) return null;
  const map = material.maps.find(({ use }) => use === METAL_MAP);
  const channels = survey.images[map?.image ?? -1]?.content?.channels;
  const [green, blue] = [channels?.[GREEN], channels?.[BLUE]];
  if (!green || !blue || green.mean <= 0 || green.max - green.min <= ROUNDING) return null;
  return { mean: green.mean, fullMetal: blue.min >= 1 - ROUNDING };
}

/**
 * The neutral detail map that a slot keeps of a material; null where there is none or it is not kept. Slots stored before
 * there was such a map say nothing of it, and keep it.
 */
export function findDetail(slot: Slot, material: number | null, survey: Survey): NeutralDetail | null {
  if (slot.keep.detail === false || material === null) return null;
  return survey.materials[material]?.neutralDetail ?? null;
}
