import {
  DataTexture,
  EquirectangularReflectionMapping,
  FloatType,
  LinearFilter,
  LinearSRGBColorSpace,
  PMREMGenerator,
  RGBAFormat,
  type Texture,
  type WebGLRenderer,
} from 'three';

/** Four times the 256 px face that three prefilters: enough for the soft borders of the boxes in a mirror. */
const WIDTH_PX = 1024;
const HEIGHT_PX = 512;

/**
 * Prefilters a light for image-based lighting: mirror reflections at level 0, irradiance at the last level.
 * @param radianceFrom linear radiance ≥ 0 that arrives from a unit direction of the rig's frame
 */
export function createEnvironment(
  renderer: WebGLRenderer,
  radianceFrom: (x: number, y: number, z: number) => number,
): Texture {
  const data = new Float32Array(WIDTH_PX * HEIGHT_PX * 4);
  let at = 0;
  for (let row = 0; row < HEIGHT_PX; row++) {
    // three reads an equirectangular map with v = asin(y) / π + ½ and u = atan2(z, x) / 2π + ½
    const elevation = ((row + 0.5) / HEIGHT_PX - 0.5) * Math.PI;
    const [y, ring] = [Math.sin(elevation), Math.cos(elevation)];
    for (let column = 0; column < WIDTH_PX; column++) {
      const angle = ((column + 0.5) / WIDTH_PX - 0.5) * 2 * Math.PI;
      const radiance = radianceFrom(ring * Math.cos(angle), y, ring * Math.sin(angle));
      data[at] = data[at + 1] = data[at + 2] = radiance;
      data[at + 3] = 1;
      at += 4;
    }
  }
  const sky = new DataTexture(data, WIDTH_PX, HEIGHT_PX, RGBAFormat, FloatType);
  sky.mapping = EquirectangularReflectionMapping;
  sky.colorSpace = LinearSRGBColorSpace;
  sky.minFilter = sky.magFilter = LinearFilter;
  sky.needsUpdate = true;
  const generator = new PMREMGenerator(renderer);
  const environment = generator.fromEquirectangular(sky).texture;
  generator.dispose();
  sky.dispose();
  return environment;
}
