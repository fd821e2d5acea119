import type { StudioScene } from './studio-scene.ts';
import { decodeSrgb } from './tone.ts';

/**
 * Takes a shot with the scene, materials and shaders of every picture, but under light of radiance 1 from everywhere and
 * without shade and tone curve: what it shows is reflectance, which tests compare with published figures.
 * @param take draws the shot; its pixels are ignored
 * @returns linear RGB, premultiplied, and coverage as float32 RGBA, rows from the bottom; half floats on the way carry
 *   values up to 1 to 0.0006
 */
export async function takeEvenly(studio: StudioScene, take: () => Promise<unknown>): Promise<Uint8Array> {
  studio.lightEvenly(true);
  try {
    await take();
    const values = studio.accumulator.readFloat();
    const linear = values.map((value, at) => (at % 4 === 3 ? value : decodeSrgb(value)));
    return new Uint8Array(linear.buffer);
  } finally {
    studio.lightEvenly(false);
  }
}
