import sharp from 'sharp';

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
 * Noise with mean 0 and standard deviation 1, smooth over about `radiusX` × `radiusY` pixels: white noise, blurred
 * across the edges. Much faster than gradient noise, and can be anisotropic at no cost.
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

/** Like `blurRows`, for columns. */
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

/** Fixed, so the bytes depend on the pixels alone. Level 6: level 9 took three times as long for 3 % less. */
const PNG = { compressionLevel: 6, adaptiveFiltering: true, palette: false } as const;

/** sRGB code of a linear value (IEC 61966-2-1), tabulated at 12 bits: finer than any step of the 8-bit codes. */
const SRGB = Uint8Array.from({ length: 4096 }, (_, i) => {
  const v = i / 4095;
  return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
});

export function toSrgb(linear: number): number {
  return SRGB[Math.round(clamp01(linear) * 4095)]!;
}

/**
 * Normal map of a relief. `relief` is in mm, `stepMm` is the size of a pixel: the slopes, and so the shading, are those
 * of the real surface. Tangent space, linear, green up (towards smaller rows).
 */
export function encodeNormalMap(
  relief: Field,
  stepMm: { readonly x: number; readonly y: number },
): Promise<Uint8Array> {
  const { width, height, values } = relief;
  const pixels = new Uint8Array(width * height * 3);
  for (let y = 0; y < height; y++) {
    const row = y * width;
    const above = wrap(y - 1, height) * width;
    const below = wrap(y + 1, height) * width;
    for (let x = 0; x < width; x++) {
      const nx = -(values[row + wrap(x + 1, width)]! - values[row + wrap(x - 1, width)]!) / (2 * stepMm.x);
      const ny = (values[below + x]! - values[above + x]!) / (2 * stepMm.y);
      const l = Math.sqrt(nx * nx + ny * ny + 1);
      const at = (row + x) * 3;
      pixels[at] = Math.round((nx / l) * 127.5 + 127.5);
      pixels[at + 1] = Math.round((ny / l) * 127.5 + 127.5);
      pixels[at + 2] = Math.round((1 / l) * 127.5 + 127.5);
    }
  }
  return encodePng(pixels, width, height, 3);
}

/** A grey colour map from linear reflectances, scaled so that the brightest is 1: it multiplies a finish's colour. */
export function encodeGreyMap(linear: Field): Promise<Uint8Array> {
  const scale = 1 / brightest([linear]);
  return encodePng(
    Uint8Array.from(linear.values, (v) => toSrgb(v * scale)),
    linear.width,
    linear.height,
    1,
  );
}

/** A tinted colour map from three linear fields, scaled together so that the brightest channel is 1. */
export function encodeColourMap(red: Field, green: Field, blue: Field): Promise<Uint8Array> {
  const scale = 1 / brightest([red, green, blue]);
  const pixels = new Uint8Array(red.values.length * 3);
  for (let i = 0; i < red.values.length; i++) {
    pixels[i * 3] = toSrgb(red.values[i]! * scale);
    pixels[i * 3 + 1] = toSrgb(green.values[i]! * scale);
    pixels[i * 3 + 2] = toSrgb(blue.values[i]! * scale);
  }
  return encodePng(pixels, red.width, red.height, 3);
}

/** A linear grey map, 0–1: occlusion, or roughness (which viewers read from green, so all channels have it). */
export function encodeLinearMap(field: Field): Promise<Uint8Array> {
  return encodePng(
    Uint8Array.from(field.values, (v) => Math.round(clamp01(v) * 255)),
    field.width,
    field.height,
    1,
  );
}

function brightest(fields: readonly Field[]): number {
  let most = 1e-6;
  for (const { values } of fields) for (const value of values) if (value > most) most = value;
  return most;
}

async function encodePng(pixels: Uint8Array, width: number, height: number, channels: 1 | 3): Promise<Uint8Array> {
  const image = sharp(pixels, { raw: { width, height, channels } });
  return new Uint8Array(await (channels === 1 ? image.toColourspace('b-w') : image).png(PNG).toBuffer());
}
