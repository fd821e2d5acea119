import { Color, LinearSRGBColorSpace, Mesh, MeshBasicMaterial, PlaneGeometry } from 'three';
import type { StudioScene } from './studio-scene.ts';

const PATCH_PX = 4;

/**
 * Shows linear colours, one by one, through the shader, target, averaging and rounding of every picture at exposure 1.
 * For the test that holds the tone curve to its published values.
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
  studio.catcher.lay(null);
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
