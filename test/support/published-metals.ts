/**
 * Facing reflectance in linear light, as printed in the Khronos 3D Commerce Asset Creation Guidelines v1.0.0 (20 Oct
 * 2020).
 */
export const KHRONOS_METALS: readonly (readonly [name: string, f0: [number, number, number]])[] = [
  ['iron', [0.56, 0.57, 0.58]],
  ['silver', [0.972, 0.96, 0.915]],
  ['aluminium', [0.913, 0.921, 0.925]],
  ['gold', [1, 0.766, 0.336]],
  ['copper', [0.955, 0.637, 0.538]],
  ['nickel', [0.66, 0.609, 0.526]],
  ['titanium', [0.542, 0.497, 0.449]],
  ['cobalt', [0.662, 0.655, 0.634]],
  ['platinum', [0.672, 0.637, 0.585]],
];
