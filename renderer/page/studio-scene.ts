import {
  type Box3,
  Group,
  type Material,
  MathUtils,
  type Mesh,
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
import { type Tile, unite } from '../tiles.ts';
import { type Accumulator, createAccumulator } from './accumulate.ts';
import { frameView, getOffset, getVisibleBox, type Size } from './camera.ts';
import { clearBehindGlass } from './change-shaders.ts';
import { createLayerSums, type LayerSums, type SplitLayer } from './layer-sums.ts';
import { createProductLight, type ProductLight } from './product-light.ts';
import { createShadowCatcher, type ShadowCatcher } from './shadow-catcher.ts';
import { createEnvironment, getRadiance, getScreenedRadiance } from './softboxes.ts';
import { checkShaders, createOcclusionUniforms, prepareMaterial } from './studio-shading.ts';
import { createEncodedTarget, SAMPLES, setToneCurve, toScissor } from './targets.ts';

/** A piece of an enlarged picture. */
export interface Crop {
  readonly zoom: number;
  readonly left: number;
  readonly top: number;
}

const WHOLE: Crop = { zoom: 1, left: 0, top: 0 };

/** A light and the height of the camera, which the grey card faces. */
export interface Rig {
  /** With the screen, the whole light rises with the camera, so that the screen stays around the lens. */
  readonly light: 'studio' | 'screen';
  readonly elevationDegrees: number;
}

/** All views of a product have the same light: the card is upright and the camera level. */
export const PRODUCT_RIG: Rig = { light: 'studio', elevationDegrees: 0 };

/** Linear radiance by direction. */
const LIGHTS = { studio: getRadiance, screen: getScreenedRadiance, even: () => 1 };

/** The lit set: light, camera, turntable, floor. It is independent of products and files. */
export interface StudioScene {
  readonly renderer: WebGLRenderer;
  readonly accumulator: Accumulator;
  readonly light: ProductLight;
  readonly catcher: ShadowCatcher;
  /** Its content turns; light and camera do not. */
  readonly turntable: Group;
  /** Prepares a material for the studio; `open` for objects without shade. */
  prepare(material: Material, open?: boolean): void;
  /** Size of the picture; `tile` is the drawn piece, by default the whole. */
  setSize(widthPx: number, heightPx: number, tile?: Tile): void;
  frame(framing: CameraCase): CameraPlace;
  /** Draws an enlarged piece of the framed picture from now on, px of the enlarged picture; null: the picture itself. */
  crop(crop: Crop | null): void;
  /** Does something with the camera as it looks at the crop, in the middle of each pixel. */
  withCamera<Result>(work: (camera: PerspectiveCamera | OrthographicCamera) => Result): Result;
  /** Looks at the plane z = 0 square on without perspective; metres, `left` and `top` are the frame's edges. */
  frameSquare(frame: { readonly left: number; readonly top: number; readonly side: number }): void;
  /** Replaces the content of the turntable. */
  show(things: readonly Object3D[]): void;
  /** Uses a rig at its exposure. */
  useRig(rig: Rig): void;
  /** Sets the exposure of the current rig. */
  expose(exposure: number): void;
  /**
   * Replaces the light of any rig by radiance 1 from everywhere, without shade and tone curve: for `takeEvenly` alone.
   * Returns the earlier setting.
   */
  lightEvenly(even: boolean): boolean;
  /**
   * Compiles the programs with which an object would have these materials, without drawing it or waiting for the driver.
   * Resolves when the driver is ready.
   */
  compile(root: Object3D, materials: ReadonlyMap<Mesh, Material>): Promise<void>;
  /** The current camera. */
  getCamera(): PerspectiveCamera | OrthographicCamera;
  /**
   * Draws one subsample, or a box of it in pixels of the tile, and adds it to the picture.
   * @param into the picture; default `accumulator`
   */
  addSubsample(index: number, box?: Tile, into?: Accumulator): void;
  /** Takes several layers at once; null if the driver cannot. */
  readonly split: Split | null;
  /** The pixels that a box of the turntable may cover, edges included. */
  getVisibleBox(box: Box3, size: Size): Tile;
  dispose(): void;
}

/** Takes layers at once, in the current size. */
interface Split {
  begin(layers: readonly SplitLayer[]): void;
  /** Draws one subsample and adds to each layer its own pixels. */
  addSubsample(index: number): void;
  /** The box of one layer, in the format of `RawLayer`. */
  read(place: number): Uint8Array;
}

/**
 * @param canvas gives the GL context; stills never draw on it
 * @throws Error if three's shaders do not fit the studio's changes
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
  // three always draws the background of glass with four samples: in software at half the size.
  if (samples === SAMPLES.software) renderer.transmissionResolutionScale = 0.5;
  const perspective = new PerspectiveCamera();
  const square = new OrthographicCamera();
  let camera: PerspectiveCamera | OrthographicCamera = perspective;
  let picture = { widthPx: 1, heightPx: 1 };
  let cropped = WHOLE;
  let sums: LayerSums | null = null;
  const turntable = new Group();
  const catcher = createShadowCatcher();
  const scene = new Scene();
  // Made on demand, because each takes a second or two in software.
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
    // three turns the light in the opposite direction.
    scene.environmentRotation.x = light === 'screen' ? -MathUtils.degToRad(rig.elevationDegrees) : 0;
    renderer.toneMappingExposure = exposures.get(rig) ?? 1;
  }

  function draw(index: number, target: WebGLRenderTarget, box?: Tile): void {
    const { x, y } = getOffset(index);
    target.scissorTest = box !== undefined;
    if (box) target.scissor.copy(toScissor(box, target.height));
    look(x, y);
    renderer.setRenderTarget(target);
    renderer.render(scene, camera);
    camera.clearViewOffset();
  }

  /** Points the camera at the crop, moved by a part of a pixel. */
  function look(x: number, y: number): void {
    const { widthPx, heightPx } = picture;
    const { zoom, left, top } = cropped;
    camera.setViewOffset(widthPx * zoom, heightPx * zoom, left + x, top + y, widthPx, heightPx);
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
      // The picture's own projection, moved by whole pixels, so that edges have the same samples as in an undivided
      // picture.
      encoded.viewport.set(-tile.left, tile.top + tile.heightPx - heightPx, widthPx, heightPx);
      accumulator.resize(tile);
      catcher.setSize(widthPx, heightPx, tile);
    },
    frame(framing) {
      camera = perspective;
      return frameView(perspective, framing);
    },
    frameSquare({ left, top, side }) {
      // The frame is the view; its depth contains the piece.
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
    async compile(root, materials) {
      const before = [...materials.keys()].map((mesh) => [mesh, mesh.material] as const);
      for (const [mesh, material] of materials) mesh.material = material;
      // programs differ by the target that they draw to
      renderer.setRenderTarget(encoded);
      const ready = renderer.compileAsync(root, camera, scene);
      for (const [mesh, material] of before) mesh.material = material;
      await ready;
    },
    getCamera: () => camera,
    crop(crop) {
      cropped = crop ?? WHOLE;
    },
    withCamera(work) {
      look(0, 0);
      try {
        return work(camera);
      } finally {
        camera.clearViewOffset();
      }
    },
    addSubsample(index, box, into = accumulator) {
      if (even) light.open();
      draw(index, encoded, box);
      into.add(encoded.texture, box);
    },
    split: createSplit(),
    getVisibleBox: (box, size) => getVisibleBox(box, turntable.matrixWorld, camera, size),
    dispose() {
      sums?.dispose();
      for (const part of [...environments.values(), light, accumulator, encoded, catcher, renderer]) part.dispose();
    },
  };
}

/** The driver's GL renderer string. */
export function getGlName(renderer: WebGLRenderer): string {
  const gl = renderer.getContext();
  const debug = gl.getExtension('WEBGL_debug_renderer_info');
  return String(gl.getParameter(debug ? debug.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
}
