import { Color, LinearSRGBColorSpace, Mesh, MeshBasicMaterial, PlaneGeometry } from 'three';
import { decodeSrgb } from '../../server/core/colour/srgb.ts';
import type { StudioScene } from './studio-scene.ts';

/**
 * Takes a shot with the scene, materials and shaders of every picture, but under light of radiance 1 from everywhere
 * and without shade and tone curve. It shows reflectance, which tests compare with published values.
 * @param take draws the shot; its pixels are ignored
 * @returns linear RGB, premultiplied, and coverage as float32 RGBA, rows from the bottom; intermediate half floats
 * carry values up to 1 to 0.0006
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

const PATCH_PX = 4;

/**
 * Shows linear colours, one by one, through the shader, target, averaging and rounding of every picture at exposure 1. A test
 * compares the tone curve with its published values.
 */
export function drawToneChart(
  studio: StudioScene,
  colours: readonly (readonly [number, number, number])[],
): number[][] {
  const exposure = studio.renderer.toneMappingExposure;
  studio.renderer.toneMappingExposure = 1;
  const material = new MeshBasicMaterial();
  const geometry = new PlaneGeometry(1, 1);
  studio.setSize(PATCH_PX, PATCH_PX);
  studio.light.open();
  studio.catcher.place(null);
  studio.turntable.rotation.y = 0;
  studio.frame({
    points: new Float32Array([-0.25, -0.25, 0, 0.25, 0.25, 0]),
    elevationDegrees: 0,
    widthPx: 1,
    heightPx: 1,
    fill: 1,
  });
  studio.show([new Mesh(geometry, material)]);
  const shown = colours.map(([red, green, blue]) => {
    material.color = new Color().setRGB(red, green, blue, LinearSRGBColorSpace);
    studio.accumulator.reset();
    studio.addSubsample(0);
    return [...studio.accumulator.read('transparent').slice(0, 4)];
  });
  studio.show([]);
  geometry.dispose();
  material.dispose();
  studio.renderer.toneMappingExposure = exposure;
  return shown;
}
