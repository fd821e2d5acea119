/** A seeded generator (mulberry32), 0 ≤ x < 1: the demo's bytes are the same on every run. */
export function makeRandom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A field of numbers that repeats at its edges, row by row from the top. */
export interface Field {
  readonly width: number;
  readonly height: number;
  readonly values: Float32Array;
}

export function makeField(width: number, height: number, at: (x: number, y: number) => number): Field {
  const values = new Float32Array(width * height);
  for (let y = 0, i = 0; y < height; y++) for (let x = 0; x < width; x++, i++) values[i] = at(x, y);
  return { width, height, values };
}

/**
 * Noise with mean 0 and standard deviation 1, soft over about `radiusX` × `radiusY` pixels: white noise, blurred
 * round the edges. Far quicker than gradient noise, and anisotropic for nothing.
 */
export function makeNoise(width: number, height: number, seed: number, radiusX: number, radiusY = radiusX): Field {
  const random = makeRandom(seed);
  let values = new Float32Array(width * height);
  for (let i = 0; i < values.length; i++) values[i] = random() - 0.5;
  for (let pass = 0; pass < 3; pass++) {
    if (radiusX > 0) values = blurRows(values, width, height, radiusX);
    if (radiusY > 0) values = blurColumns(values, width, height, radiusY);
  }
  let sum = 0;
  let squares = 0;
  for (const value of values) {
    sum += value;
    squares += value * value;
  }
  const mean = sum / values.length;
  const deviation = Math.sqrt(Math.max(1e-12, squares / values.length - mean * mean));
  for (let i = 0; i < values.length; i++) values[i] = (values[i]! - mean) / deviation;
  return { width, height, values };
}

/** Blur over 2 × radius + 1 pixels, wrapping round. */
export function blurRows(
  source: Float32Array,
  width: number,
  height: number,
  radius: number,
): Float32Array<ArrayBuffer> {
  const out = new Float32Array(source.length);
  const scale = 1 / (2 * radius + 1);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    let sum = 0;
    for (let k = -radius; k <= radius; k++) sum += source[row + wrap(k, width)]!;
    for (let x = 0; x < width; x++) {
      out[row + x] = sum * scale;
      sum += source[row + wrap(x + radius + 1, width)]! - source[row + wrap(x - radius, width)]!;
    }
  }
  return out;
}

/** The same down the columns. */
export function blurColumns(
  source: Float32Array,
  width: number,
  height: number,
  radius: number,
): Float32Array<ArrayBuffer> {
  const out = new Float32Array(source.length);
  const sums = new Float64Array(width);
  const scale = 1 / (2 * radius + 1);
  for (let k = -radius; k <= radius; k++) {
    const row = wrap(k, height) * width;
    for (let x = 0; x < width; x++) sums[x] = sums[x]! + source[row + x]!;
  }
  for (let y = 0; y < height; y++) {
    const enter = wrap(y + radius + 1, height) * width;
    const leave = wrap(y - radius, height) * width;
    for (let x = 0; x < width; x++) {
      out[y * width + x] = sums[x]! * scale;
      sums[x] = sums[x]! + source[enter + x]! - source[leave + x]!;
    }
  }
  return out;
}

export function wrap(k: number, size: number): number {
  return ((k % size) + size) % size;
}

export function clamp01(x: number): number {
  return Math.min(1, Math.max(0, x));
}

/** 0 below `from`, 1 above `to`, smooth between. */
export function smoothstep(from: number, to: number, x: number): number {
  const t = clamp01((x - from) / (to - from));
  return t * t * (3 - 2 * t);
}
