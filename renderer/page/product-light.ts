import type { Matrix4, Mesh, Sphere, Vector3, WebGLRenderer, WebGLRenderTarget } from 'three';
import { type Casters, createCasters, describeCasters } from './casters.ts';
import { createPage, type DepthPage, disposePage, drawPage, TILE_PX } from './depth-pages.ts';
import { createFloorMapper, type FloorPatch } from './floor-map.ts';
import { getFloorWeight, listLightDirections } from './light-directions.ts';
import type { OcclusionUniforms } from './occlusion-uniforms.ts';

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
  /** What else the floor's map depends on. */
  readonly mount: string;
  /** Where the shadow falls; `lights` when the patch is a floor that sends light back up. */
  readonly patch: FloorPatch | null;
  readonly lights: boolean;
}

/** Detail of casters smaller than this many texels of a depth map is merged: maps hardly show it, and drawing it in each costs. */
const CELL_TEXELS = 1.5;

/** The studio's light as one product sees it: depth maps towards every drawn direction, and the floor's share. */
export interface ProductLight {
  /** Draws what is not there yet, and answers the floor's map. */
  prepare(scene: LightScene): WebGLRenderTarget | null;
  /** Makes subsample `index` see its page of directions. */
  use(index: number): void;
  /** Lets everything stand in the open. */
  open(): void;
  dispose(): void;
}

export function createProductLight(renderer: WebGLRenderer, uniforms: OcclusionUniforms): ProductLight {
  const targets = new Map<number, WebGLRenderTarget[]>();
  const mapper = createFloorMapper(renderer, uniforms);
  let pages: readonly DepthPage[] = [];
  let map: WebGLRenderTarget | null = null;
  let cast: { readonly key: string; readonly casters: Casters } | undefined;
  let drawn = '';
  let now: LightScene | undefined;

  function getCasters(scene: LightScene): Casters {
    const key = `${scene.productKey}#${describeCasters(scene.meshes)}`;
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

  return {
    prepare(scene) {
      const turn = scene.turned.elements.join();
      const key = `${scene.productKey}#${turn}#${scene.mount}#${scene.quality}#${describeCasters(scene.meshes)}`;
      now = scene;
      if (key === drawn) return map;
      drawn = '';
      uniforms.studioFloor.value.w = 0;
      pages = drawPages(scene);
      map = null;
      const { patch } = scene;
      if (patch) {
        pages.forEach((page, index) => {
          show(scene, page);
          mapper.gather(patch, index === 0);
        });
        map = mapper.finish();
      }
      drawn = key;
      return map;
    },
    use(index) {
      if (!now || pages.length === 0) return;
      show(now, pages[index % pages.length]!);
      const { patch } = now;
      if (now.lights && patch && map) {
        uniforms.studioFloorMap.value = map.texture;
        uniforms.studioFloor.value.set(patch.centre.x, patch.centre.y, patch.centre.z, patch.across.length());
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
      mapper.dispose();
    },
  };
}
