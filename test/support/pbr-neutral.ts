type Colour = readonly [number, number, number];

/**
 * Khronos PBR Neutral as in its published GLSL; linear RGB in and out. KhronosGroup/ToneMapping PBR_Neutral, commit
 * b5a2eed.
 */
export function toneNeutral(colour: Colour): Colour {
  const [startCompression, desaturation] = [0.8 - 0.04, 0.15];
  const x = Math.min(...colour);
  const offset = x < 0.08 ? x - 6.25 * x * x : 0.04;
  const lowered = each(colour, (value) => value - offset);
  const peak = Math.max(...lowered);
  if (peak < startCompression) return lowered;
  const d = 1 - startCompression;
  const newPeak = 1 - (d * d) / (peak + d - startCompression);
  const g = 1 - 1 / (desaturation * (peak - newPeak) + 1);
  return each(lowered, (value) => ((value * newPeak) / peak) * (1 - g) + newPeak * g);
}

function each([red, green, blue]: Colour, change: (value: number) => number): Colour {
  return [change(red), change(green), change(blue)];
}
