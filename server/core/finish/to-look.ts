import type { ResolvedFinish } from './resolve-finish.ts';

/**
 * Which fields of a resolved finish make its look. A new field does not compile until somebody decides. Left out is what
 * is only said of the finish: its names, how sure or how near a figure is, and the words of the gloss verdict, whose
 * roughness is there already.
 */
const MAKES_LOOK = {
  finish: false,
  name: false,
  // how it lies on a slot stands beside it
  family: false,
  baseColour: true,
  levelled: true,
  colourFrom: false,
  specification: false,
  colourLab: false,
  delivered: false,
  roughness: true,
  metalness: true,
  clearcoat: true,
  clearcoatRoughness: true,
  sheen: true,
  transmission: true,
  ior: true,
  volume: true,
  specular: true,
  anisotropy: true,
  iridescence: true,
  emissive: true,
  maps: true,
  tile: true,
  supplied: true,
  suppliedChange: true,
  specifiedLab: false,
  hex: false,
  includedLab: false,
  estimated: false,
  outOfGamutDeltaE: false,
  chipDeltaE: false,
  displayDeltaE: false,
  gloss: false,
  gu60: false,
} as const satisfies Record<keyof ResolvedFinish, boolean>;

/**
 * A finish without what is only said of it: all that pictures of it depend on. A new name or a colour for screens takes no
 * picture again.
 */
export function toLook(resolved: ResolvedFinish): Readonly<Record<string, unknown>> {
  const seen = Object.entries(resolved).filter(([field]) => MAKES_LOOK[field as keyof ResolvedFinish]);
  // a direction that nobody gave is 0
  const tile = resolved.tile && { ...resolved.tile, grainDegrees: resolved.tile.grainDegrees ?? 0 };
  return { ...Object.fromEntries(seen), tile };
}
