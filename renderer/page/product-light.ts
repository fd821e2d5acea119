import { Matrix4, type Mesh, type Sphere, type Vector3, type WebGLRenderer, type WebGLRenderTarget } from 'three';
import { type Casters, createCasters, describeCasters } from './casters.ts';
import { type ContactPlan, createContactMapper } from './contact-map.ts';
import { createPage, type DepthPage, disposePage, drawPage, TILE_PX } from './depth-pages.ts';
import { createFloorMapper, type FloorPatch } from './floor-map.ts';
import { getFloorWeight, listLightDirections } from './light-directions.ts';
import type { OcclusionUniforms } from './occlusion-shader.ts';

/** Light directions: one page of them for every subsample, all different. */
export const PAGES = {
  /** While something moves under the hand, without a GPU. */
  moving: { pages: 1, tiles: 8 },
  draft: { pages: 4, tiles: 8 },
  still: { pages: 16, tiles: 8 },
} as const;

export type LightQuality = keyof typeof PAGES;

export interface LightScene {
  readonly meshes: readonly Mesh[];
  /** Round the product, in the rig's frame. */
  readonly sphere: Sphere;
  readonly quality: LightQuality;
  /** Which product it is. */
  readonly productKey: string;
  /** How it stands on the turntable. */
  readonly turned: Matrix4;
  /** The floor that sends light back up, in the rig's frame. */
  readonly floor: FloorPatch | null;
  /** The ground that takes the shadow, as it lies to the product. */
  readonly contact: ContactPlan | null;
}

/** Detail of casters smaller than this many texels of a depth map is merged: maps hardly show it, and drawing it in each costs. */
const CELL_TEXELS = 1.5;

/** The studio's light as one product sees it: depth maps towards every drawn direction, the floor's share, and the contact shadow. */
export interface ProductLight {
  /** Draws what is not there yet, and answers the map of the contact shadow. */
  prepare(scene: LightScene): WebGLRenderTarget | null;
  /** Makes subsample `index` see its page of directions. */
  use(index: number): void;
  /** Lets everything stand in the open. */
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
    // in texels of the depth map: less gives acne on slopes, more loosens shadows from what casts them
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

  /** Measured once for all sides a product is seen from. */
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

/** Same text, same casters. */
function describe({ productKey, meshes }: LightScene): string {
  return `${productKey}#${describeCasters(meshes)}`;
}
