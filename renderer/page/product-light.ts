import {
  type DepthTexture as Depth,
  DepthTexture,
  LessEqualCompare,
  LinearFilter,
  Matrix4,
  type Mesh,
  NearestFilter,
  OrthographicCamera,
  RedFormat,
  type Scene,
  type Sphere,
  UnsignedByteType,
  UnsignedShortType,
  type Vector3,
  type WebGLRenderer,
  WebGLRenderTarget,
} from 'three';
import { type Casters, createCasters, describeCasters } from './casters.ts';
import { type ContactPlan, createContactMapper } from './contact-map.ts';
import { createFloorMapper, type FloorPatch } from './floor-map.ts';
import { getFloorWeight, listLightDirections } from './light-directions.ts';
import type { OcclusionUniforms } from './studio-shading.ts';

/** Light directions: every subsample has a page of its own. */
const PAGES = {
  /** During a drag, without a GPU. */
  moving: { pages: 1, tiles: 8 },
  draft: { pages: 4, tiles: 8 },
  still: { pages: 16, tiles: 8 },
} as const;

export type LightQuality = keyof typeof PAGES;

interface LightScene {
  readonly meshes: readonly Mesh[];
  /** Around the product, in the rig's frame. */
  readonly sphere: Sphere;
  readonly quality: LightQuality;
  /** Which product it is. */
  readonly productKey: string;
  /** Its turn on the turntable. */
  readonly turned: Matrix4;
  /** The floor that reflects light up, in the rig's frame. */
  readonly floor: FloorPatch | null;
  /** The floor or wall with the shadow, relative to the product. */
  readonly contact: ContactPlan | null;
}

/** Detail of casters below this many texels of a depth map is merged. Maps hardly show it, but each would draw it. */
const CELL_TEXELS = 1.5;

/** The studio's light on one product: depth maps towards every direction, the light from the floor, and the contact shadow. */
export interface ProductLight {
  /** Draws missing maps, and returns the map of the contact shadow. */
  prepare(scene: LightScene): WebGLRenderTarget | null;
  /** Uses the page of directions of subsample `index`. */
  use(index: number): void;
  /** Removes all shade. */
  open(): void;
  dispose(): void;
}

export function createProductLight(renderer: WebGLRenderer, uniforms: OcclusionUniforms): ProductLight {
  const targets = new Map<number, WebGLRenderTarget[]>();
  const floorMapper = createFloorMapper(renderer, uniforms);
  const contactMapper = createContactMapper(renderer);
  let pages: readonly DepthPage[] = [];
  let floorMap: WebGLRenderTarget | null = null;
  let contact: { readonly key: string; readonly map: WebGLRenderTarget } | undefined;
  let cast: { readonly key: string; readonly casters: Casters } | undefined;
  let drawn = '';
  let now: LightScene | undefined;

  function getCasters(scene: LightScene): Casters {
    const key = describe(scene);
    if (cast?.key === key) return cast.casters;
    cast?.casters.dispose();
    const cell = (CELL_TEXELS * 2 * scene.sphere.radius) / TILE_PX;
    cast = { key, casters: createCasters(scene.meshes, scene.turned, cell) };
    return cast.casters;
  }

  function drawPages(scene: LightScene): readonly DepthPage[] {
    const plan = PAGES[scene.quality];
    const directions = listLightDirections(plan.pages * plan.tiles);
    const casters = getCasters(scene);
    casters.turn(scene.turned);
    const pool = targets.get(plan.tiles) ?? [];
    targets.set(plan.tiles, pool);
    while (pool.length < plan.pages) pool.push(createPage(plan.tiles));
    return Array.from({ length: plan.pages }, (_, page) =>
      drawPage(
        renderer,
        pool[page]!,
        casters.scene,
        scene.sphere,
        directions.slice(page * plan.tiles, (page + 1) * plan.tiles),
      ),
    );
  }

  function show(scene: LightScene, page: DepthPage): void {
    uniforms.studioTiles.value = page.directions.length;
    uniforms.studioDepth.value = page.depth;
    page.matrices.forEach((matrix, index) => {
      uniforms.studioTileMatrix.value[index]!.copy(matrix);
    });
    page.directions.forEach((direction, index) => {
      uniforms.studioTileDirection.value[index]!.copy(direction as Vector3);
    });
    const texel = (2 * scene.sphere.radius) / TILE_PX;
    // In texels of the depth map. Less gives acne on slopes; more detaches shadows from their casters.
    uniforms.studioBias.value.set(texel * 1.6, 0.6 / TILE_PX);
    uniforms.studioFloorWeight.value = getFloorWeight(page.directions.length);
  }

  function mapFloor(scene: LightScene, floor: FloorPatch): WebGLRenderTarget {
    pages.forEach((page, index) => {
      show(scene, page);
      floorMapper.gather(floor, index === 0);
    });
    return floorMapper.finish();
  }

  /** Measured once for all directions of view. */
  function mapContact(scene: LightScene, plan: ContactPlan): WebGLRenderTarget {
    const key = `${describe(scene)}#${plan.patch.normal.toArray()}`;
    if (contact?.key === key) return contact.map;
    contact = undefined;
    const casters = getCasters(scene);
    casters.turn(new Matrix4());
    contact = { key, map: contactMapper.measure(plan, casters.scene) };
    return contact.map;
  }

  return {
    prepare(scene) {
      const { floor, turned, quality } = scene;
      const key = `${describe(scene)}#${turned.elements.join()}#${floor !== null}#${quality}`;
      now = scene;
      if (key !== drawn) {
        drawn = '';
        uniforms.studioFloor.value.w = 0;
        pages = drawPages(scene);
        floorMap = floor && mapFloor(scene, floor);
        drawn = key;
      }
      return scene.contact && mapContact(scene, scene.contact);
    },
    use(index) {
      if (!now || pages.length === 0) return;
      show(now, pages[index % pages.length]!);
      const { floor } = now;
      if (floor && floorMap) {
        uniforms.studioFloorMap.value = floorMap.texture;
        uniforms.studioFloor.value.set(floor.centre.x, floor.centre.y, floor.centre.z, floor.across.length());
      } else {
        uniforms.studioFloor.value.w = 0;
      }
    },
    open() {
      uniforms.studioTiles.value = 0;
      uniforms.studioFloor.value.w = 0;
    },
    dispose() {
      cast?.casters.dispose();
      for (const pool of targets.values()) for (const target of pool) disposePage(target);
      floorMapper.dispose();
      contactMapper.dispose();
    },
  };
}

/** Key of the casters. */
function describe({ productKey, meshes }: LightScene): string {
  return `${productKey}#${describeCasters(meshes)}`;
}

/** Side of one direction's depth map: on a chair a texel is 3 mm, and a hundred maps blur the steps. */
const TILE_PX = 384;

/** Margin around the product in a tile, so that filtering never reads a neighbour. */
const MARGIN = 1.02;

/** Depth maps of several light directions in one texture. */
interface DepthPage {
  readonly target: WebGLRenderTarget;
  readonly depth: Depth;
  readonly directions: readonly Vector3[];
  readonly matrices: readonly Matrix4[];
}

function createPage(tiles: number): WebGLRenderTarget {
  const [columns, rows] = getGrid(tiles);
  const depthTexture = new DepthTexture(columns * TILE_PX, rows * TILE_PX, UnsignedShortType);
  depthTexture.compareFunction = LessEqualCompare;
  depthTexture.minFilter = depthTexture.magFilter = LinearFilter;
  return new WebGLRenderTarget(columns * TILE_PX, rows * TILE_PX, {
    // WebGL requires a colour attachment; one byte is the smallest.
    format: RedFormat,
    type: UnsignedByteType,
    minFilter: NearestFilter,
    magFilter: NearestFilter,
    generateMipmaps: false,
    depthTexture,
  });
}

/** Draws the depth maps of one page. */
function drawPage(
  renderer: WebGLRenderer,
  target: WebGLRenderTarget,
  casters: Scene,
  sphere: Sphere,
  directions: readonly Vector3[],
): DepthPage {
  const [columns, rows] = getGrid(directions.length);
  const radius = sphere.radius * MARGIN;
  const camera = new OrthographicCamera(-radius, radius, radius, -radius, 0, 2 * radius);
  const autoClear = renderer.autoClear;
  renderer.autoClear = false;
  target.viewport.set(0, 0, target.width, target.height);
  target.scissorTest = false;
  renderer.setRenderTarget(target);
  renderer.clear();
  const matrices = directions.map((direction, index) => {
    camera.position.copy(sphere.center).addScaledVector(direction, radius);
    camera.up.set(0, Math.abs(direction.y) > 0.99 ? 0 : 1, Math.abs(direction.y) > 0.99 ? -1 : 0);
    camera.lookAt(sphere.center);
    camera.updateMatrixWorld(true);
    const [column, row] = [index % columns, Math.floor(index / columns)];
    target.viewport.set(column * TILE_PX, row * TILE_PX, TILE_PX, TILE_PX);
    target.scissor.copy(target.viewport);
    target.scissorTest = true;
    renderer.setRenderTarget(target);
    renderer.render(casters, camera);
    return new Matrix4()
      .makeTranslation((column + 0.5) / columns, (row + 0.5) / rows, 0.5)
      .multiply(new Matrix4().makeScale(0.5 / columns, 0.5 / rows, 0.5))
      .multiply(camera.projectionMatrix)
      .multiply(camera.matrixWorldInverse);
  });
  renderer.autoClear = autoClear;
  return { target, depth: target.depthTexture as Depth, directions, matrices };
}

function disposePage(target: WebGLRenderTarget): void {
  target.depthTexture?.dispose();
  target.dispose();
}

function getGrid(tiles: number): readonly [number, number] {
  const columns = Math.min(4, tiles);
  return [columns, Math.ceil(tiles / columns)];
}
