import { Color, LinearSRGBColorSpace, Mesh, MeshBasicMaterial, PlaneGeometry } from 'three';
import type { Stage } from './studio-scene.ts';

const PATCH_PX = 4;

/**
 * Shows linear colours, one by one, through the shader, target, averaging and rounding of every picture at exposure 1.
 * For the test that holds the tone curve to its published values.
 */
export function drawToneChart(stage: Stage, colours: readonly (readonly [number, number, number])[]): number[][] {
  const exposure = stage.renderer.toneMappingExposure;
  stage.renderer.toneMappingExposure = 1;
  const material = new MeshBasicMaterial();
  const geometry = new PlaneGeometry(1, 1);
  stage.setSize(PATCH_PX, PATCH_PX);
  stage.light.open();
  stage.catcher.lay(null);
  stage.turntable.rotation.y = 0;
  stage.frame({
    points: new Float32Array([-0.25, -0.25, 0, 0.25, 0.25, 0]),
    elevationDegrees: 0,
    widthPx: 1,
    heightPx: 1,
    fill: 1,
  });
  stage.show([new Mesh(geometry, material)]);
  const shown = colours.map(([red, green, blue]) => {
    material.color = new Color().setRGB(red, green, blue, LinearSRGBColorSpace);
    stage.accumulator.reset();
    stage.addSubsample(0);
    return [...stage.accumulator.read('transparent').slice(0, 4)];
  });
  stage.show([]);
  geometry.dispose();
  material.dispose();
  stage.renderer.toneMappingExposure = exposure;
  return shown;
}
