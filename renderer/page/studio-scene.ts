import {
  type Box3,
  Group,
  type Material,
  MathUtils,
  NoToneMapping,
  type Object3D,
  OrthographicCamera,
  PerspectiveCamera,
  Scene,
  type Texture,
  WebGLRenderer,
  type WebGLRenderTarget,
} from 'three';
import type { CameraCase, CameraPlace } from '../../server/core/picture/place-camera.ts';
import { classifyDriver } from '../driver.ts';
import { type Accumulator, createAccumulator } from './accumulate.ts';
import { frameView, getOffset, type Size, seeBox } from './camera.ts';
import { clearBehindGlass } from './change-shaders.ts';
import { createLayerSums, type LayerSums, type SplitLayer } from './layer-sums.ts';
import { createProductLight, type ProductLight } from './product-light.ts';
import { createShadowCatcher, type ShadowCatcher } from './shadow-catcher.ts';
import { createEnvironment, getRadiance, getScreenedRadiance } from './softboxes.ts';
import { checkShaders, createOcclusionUniforms, prepareMaterial } from './studio-shading.ts';
import { createEncodedTarget, SAMPLES, setToneCurve } from './targets.ts';
import { type Tile, toScissor, unite } from './tiles.ts';

/** What light a thing stands in, and how high the camera stands, which the grey card faces. */
export interface Rig {
  /** With the screen, the whole light is raised with the camera, so that the screen stays round the lens. */
  readonly light: 'studio' | 'screen';
  readonly elevationDegrees: number;
}

/** Products are turned and seen from everywhere in one light: the card is upright, the camera level. */
export const PRODUCT_RIG: Rig = { light: 'studio', elevationDegrees: 0 };

/** Linear radiance by direction. */
const LIGHTS = { studio: getRadiance, screen: getScreenedRadiance, even: () => 1 };

/** The lit set: light, camera, turntable, floor. It knows nothing of products and files. */
export interface StudioScene {
  readonly renderer: WebGLRenderer;
  readonly accumulator: Accumulator;
  readonly light: ProductLight;
  readonly catcher: ShadowCatcher;
  /** What stands here turns; light and camera do not. */
  readonly turntable: Group;
  /** Makes a material fit for the studio; `open` for things no shadow falls on. */
  prepare(material: Material, open?: boolean): void;
  /** Size of the picture; `tile` is the piece of it that is drawn, all of it when absent. */
  setSize(widthPx: number, heightPx: number, tile?: Tile): void;
  frame(framing: CameraCase): CameraPlace;
  /** Looks at the plane z = 0 square on and without perspective; metres, `left` and `top` are the frame's edges. */
  frameSquare(frame: { readonly left: number; readonly top: number; readonly side: number }): void;
  /** Puts these on the turntable, and nothing else. */
  show(things: readonly Object3D[]): void;
  /** Lights with a rig, at the exposure it was given. */
  useRig(rig: Rig): void;
  /** Gives the rig in use its exposure. */
  expose(exposure: number): void;
  /**
   * Light of radiance 1 from everywhere, no shade and no tone curve in the place of any rig's: for `take-evenly.ts` alone.
   * Answers whether it was so before.
   */
  lightEvenly(even: boolean): boolean;
  /** The camera as it stands. */
  getCamera(): PerspectiveCamera | OrthographicCamera;
  /** Draws one subsample, or what of it is in a box of the tile, and adds it to the picture. */
  addSubsample(index: number, box?: Tile): void;
  /** Takes several layers at once; null where the driver cannot. */
  readonly split: Split | null;
  /** What of a picture a box of the turntable's may cover, in whole pixels, edges and all. */
  see(box: Box3, size: Size): Tile;
  dispose(): void;
}

/** Layers taken at once, of the size that was set. */
interface Split {
  begin(layers: readonly SplitLayer[]): void;
  /** Draws one subsample and adds to each layer what of it is its own. */
  addSubsample(index: number): void;
  /** One layer's box, as `RawLayer` has it. */
  read(place: number): Uint8Array;
}

/**
 * `canvas` gives the GL context; stills never touch what it shows.
 * @throws Error where three's shaders are not those that the studio changes
 */
export function createStudioScene(canvas: HTMLCanvasElement | OffscreenCanvas): StudioScene {
  checkShaders();
  const renderer = new WebGLRenderer({ canvas, alpha: true, antialias: false, depth: false, premultipliedAlpha: true });
  renderer.debug.checkShaderErrors = true;
  renderer.setClearColor(0x000000, 0);
  renderer.autoClear = true;
  renderer.shadowMap.enabled = false;
  setToneCurve(renderer);
  clearBehindGlass(renderer);

  const uniforms = createOcclusionUniforms();
  const light = createProductLight(renderer, uniforms);
  const accumulator = createAccumulator(renderer);
  const samples = classifyDriver(getGlName(renderer)) === 'gpu' ? SAMPLES.gpu : SAMPLES.software;
  const encoded = createEncodedTarget(1, 1, samples);
  // what is seen through glass is drawn with four samples whatever is asked: in software at half the size
  if (samples === SAMPLES.software) renderer.transmissionResolutionScale = 0.5;
  const perspective = new PerspectiveCamera();
  const square = new OrthographicCamera();
  let camera: PerspectiveCamera | OrthographicCamera = perspective;
  let picture = { widthPx: 1, heightPx: 1 };
  let sums: LayerSums | null = null;
  const turntable = new Group();
  const catcher = createShadowCatcher();
  const scene = new Scene();
  // a second or two each in software: those that are looked at
  const environments = new Map<keyof typeof LIGHTS, Texture>();
  const exposures = new Map<Rig, number>();
  let rig = PRODUCT_RIG;
  let even = false;
  scene.add(turntable, catcher.mesh);
  const anisotropy = renderer.capabilities.getMaxAnisotropy();

  function applyRig(): void {
    const light = even ? 'even' : rig.light;
    if (!environments.has(light)) environments.set(light, createEnvironment(renderer, LIGHTS[light]));
    scene.environment = environments.get(light)!;
    // three turns the light the other way about
    scene.environmentRotation.x = light === 'screen' ? -MathUtils.degToRad(rig.elevationDegrees) : 0;
    renderer.toneMappingExposure = exposures.get(rig) ?? 1;
  }

  function draw(index: number, target: WebGLRenderTarget, box?: Tile): void {
    const { x, y } = getOffset(index);
    const { widthPx, heightPx } = picture;
    target.scissorTest = box !== undefined;
    if (box) target.scissor.copy(toScissor(box, target.height));
    camera.setViewOffset(widthPx, heightPx, x, y, widthPx, heightPx);
    renderer.setRenderTarget(target);
    renderer.render(scene, camera);
    camera.clearViewOffset();
  }

  function createSplit(): Split | null {
    if (samples !== SAMPLES.software) return null;
    if (!renderer.getContext().getExtension('EXT_float_blend')) return null;
    let drawn: Tile | undefined;
    return {
      begin(layers) {
        const { width, height } = encoded;
        if (sums?.drawn.width !== width || sums.drawn.height !== height) {
          sums?.dispose();
          sums = createLayerSums(renderer, width, height);
        }
        sums.drawn.viewport.copy(encoded.viewport);
        drawn = unite(layers.map(({ box }) => box));
        sums.begin(layers);
      },
      addSubsample(index) {
        draw(index, sums!.drawn, drawn);
        sums!.add();
      },
      read: (place) => sums!.read(place),
    };
  }

  return {
    renderer,
    accumulator,
    light,
    catcher,
    turntable,
    prepare: (material, open = false) => prepareMaterial(material, open ? null : uniforms, anisotropy),
    setSize(widthPx, heightPx, tile = { left: 0, top: 0, widthPx, heightPx }) {
      picture = { widthPx, heightPx };
      encoded.setSize(tile.widthPx, tile.heightPx);
      // the picture's own projection, moved by whole pixels: edges then fall on the same samples as in one piece
      encoded.viewport.set(-tile.left, tile.top + tile.heightPx - heightPx, widthPx, heightPx);
      accumulator.resize(tile);
      catcher.setSize(widthPx, heightPx, tile);
    },
    frame(framing) {
      camera = perspective;
      return frameView(perspective, framing);
    },
    frameSquare({ left, top, side }) {
      // the frame is the view; its depth holds the piece
      Object.assign(square, { left: 0, right: side, top: 0, bottom: -side, near: 0, far: 2 });
      square.position.set(left, top, 1);
      square.updateMatrixWorld(true);
      square.updateProjectionMatrix();
      camera = square;
    },
    show(things) {
      turntable.clear();
      if (things.length > 0) turntable.add(...things);
      turntable.updateMatrixWorld(true);
    },
    useRig(next) {
      rig = next;
      applyRig();
    },
    expose(exposure) {
      exposures.set(rig, exposure);
      renderer.toneMappingExposure = exposure;
    },
    lightEvenly(on) {
      const before = even;
      if (on === before) return before;
      even = on;
      setToneCurve(renderer);
      if (even) renderer.toneMapping = NoToneMapping;
      applyRig();
      return before;
    },
    getCamera: () => camera,
    addSubsample(index, box) {
      if (even) light.open();
      draw(index, encoded, box);
      accumulator.add(encoded.texture, box);
    },
    split: createSplit(),
    see: (box, size) => seeBox(box, turntable.matrixWorld, camera, size),
    dispose() {
      sums?.dispose();
      for (const part of [...environments.values(), light, accumulator, encoded, catcher, renderer]) part.dispose();
    },
  };
}

/** The GL renderer string as the driver tells it. */
export function getGlName(renderer: WebGLRenderer): string {
  const gl = renderer.getContext();
  const debug = gl.getExtension('WEBGL_debug_renderer_info');
  return String(gl.getParameter(debug ? debug.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
}
