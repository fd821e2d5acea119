import { FreeCamera } from '@babylonjs/core/Cameras/freeCamera.js';
import { Constants } from '@babylonjs/core/Engines/constants.js';
import { Engine } from '@babylonjs/core/Engines/engine.js';
import { LoadAssetContainerAsync } from '@babylonjs/core/Loading/sceneLoader.js';
import { RawCubeTexture } from '@babylonjs/core/Materials/Textures/rawCubeTexture.js';
import { Color4 } from '@babylonjs/core/Maths/math.color.js';
import { Vector3 } from '@babylonjs/core/Maths/math.vector.js';
import { CubeMapToSphericalPolynomialTools } from '@babylonjs/core/Misc/HighDynamicRange/cubemapToSphericalPolynomial.js';
import { Scene } from '@babylonjs/core/scene.js';
import '@babylonjs/core/Materials/Textures/baseTexture.polynomial.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_anisotropy.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_clearcoat.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_ior.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_sheen.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_materials_specular.js';
import '@babylonjs/loaders/glTF/2.0/Extensions/KHR_texture_transform.js';
import '@babylonjs/loaders/glTF/2.0/glTFLoader.js';

export interface SecondOrder {
  /** Address of a GLB. */
  readonly url: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** World matrix and projection, column by column, as in three.js. */
  readonly camera: { readonly world: readonly number[]; readonly projection: readonly number[] };
}

interface SecondEngine {
  /** 8-bit sRGB with coverage, rows from the bottom. */
  take(order: SecondOrder): Promise<number[]>;
}

declare global {
  var secondEngine: SecondEngine | undefined;
}

globalThis.secondEngine = { take };

/** Renders a file with Babylon.js, under light of radiance 1 from everywhere and without a tone curve. */
async function take({ url, widthPx, heightPx, camera: seen }: SecondOrder): Promise<number[]> {
  const canvas = document.createElement('canvas');
  Object.assign(canvas, { width: widthPx, height: heightPx });
  const engine = new Engine(canvas, true, { premultipliedAlpha: true, alpha: true });
  const scene = new Scene(engine);
  scene.useRightHandedSystem = true;
  scene.clearColor = new Color4(0, 0, 0, 0);
  scene.environmentTexture = createEvenLight(scene);
  const container = await LoadAssetContainerAsync(url, scene, { pluginExtension: '.glb' });
  container.addAllToScene();
  placeCamera(scene, seen);
  await scene.whenReadyAsync();
  scene.render();
  const pixels = (await engine.readPixels(0, 0, widthPx, heightPx)) as Uint8Array;
  const bytes = [...pixels];
  scene.dispose();
  engine.dispose();
  return bytes;
}

function createEvenLight(scene: Scene): RawCubeTexture {
  const size = 8;
  const face = () => new Float32Array(size * size * 4).fill(1);
  const faces = Array.from({ length: 6 }, face);
  const { TEXTUREFORMAT_RGBA, TEXTURETYPE_FLOAT, TEXTURE_TRILINEAR_SAMPLINGMODE } = Constants;
  const light = new RawCubeTexture(
    scene,
    faces,
    size,
    TEXTUREFORMAT_RGBA,
    TEXTURETYPE_FLOAT,
    true,
    false,
    TEXTURE_TRILINEAR_SAMPLINGMODE,
  );
  light.gammaSpace = false;
  const [right, left, up, down, front, back] = faces as [Float32Array, ...Float32Array[]];
  light.sphericalPolynomial = CubeMapToSphericalPolynomialTools.ConvertCubeMapToSphericalPolynomial({
    size,
    format: TEXTUREFORMAT_RGBA,
    type: TEXTURETYPE_FLOAT,
    gammaSpace: false,
    right,
    left: left!,
    up: up!,
    down: down!,
    front: front!,
    back: back!,
  });
  return light;
}

function placeCamera(scene: Scene, { world, projection }: SecondOrder['camera']): void {
  const column = (index: number) => Vector3.FromArray(world as number[], index * 4);
  const camera = new FreeCamera('camera', column(3), scene);
  camera.upVector = column(1);
  camera.setTarget(column(3).subtract(column(2)));
  camera.fov = 2 * Math.atan(1 / projection[5]!);
  // of a perspective projection: m22 = -(f + n) / (f - n), m32 = -2 f n / (f - n)
  camera.minZ = projection[14]! / (projection[10]! - 1);
  camera.maxZ = projection[14]! / (projection[10]! + 1);
}
