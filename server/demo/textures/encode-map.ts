import sharp from 'sharp';
import { clamp01, type Field, wrap } from './noise.ts';

/** Fixed, so that the bytes depend on the pixels alone. Level 6: level 9 took three times as long for 3 % less. */
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
 * Normal map of a relief. `relief` is in mm, `stepMm` is the size of a pixel: slopes, and so the shading, are those
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

/** A linear grey map, 0–1: occlusion, or roughness (read from green, so all channels hold it). */
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
