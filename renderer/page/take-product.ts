import type { MeshPhysicalMaterial } from 'three';
import { STANDS, type Stand } from '../../server/core/picture/place-camera.ts';
import type { LayerContent, LayersShot, ProductShot } from '../../server/core/ports/renderer.ts';
import { STUDIO_PROBLEMS } from '../../server/core/texts/problems/picture.ts';
import type { Tile } from '../tiles.ts';
import { breathe } from './breathe.ts';
import { bakeAllPositions } from './build-geometry.ts';
import { SUBSAMPLES } from './camera.ts';
import { findClearestView } from './clearest-view.ts';
import type { Decoders } from './decoders.ts';
import {
  assignMaterials,
  disposeProduct,
  listMeshes,
  loadAssignment,
  loadProduct,
  type Product,
} from './load-product.ts';
import { poseProduct } from './pose-product.ts';
import { StudioProblem } from './studio-problem.ts';
import type { StudioScene } from './studio-scene.ts';
import { createHoldouts, type TakenLayer, takeLayers } from './take-layers.ts';

/** A product shot with the URL of its file. */
export interface ProductOrder extends Omit<ProductShot, 'file'>, Order {}

export interface LayersShotOrder extends Omit<LayersShot, 'file'>, Order {}

interface Order {
  readonly key: string;
  readonly url: string;
  /** The part of the picture to draw. Default: all of it. */
  readonly tile?: Tile;
}

type ShotOrder = Omit<LayersShotOrder, 'layers'>;

/** Most pixels drawn without tiles: half a gigabyte of targets. */
const WHOLE_PIXELS = 4096 * 4096;

interface ProductStudio {
  /** Null if the picture can only be drawn whole, and the order asks for a tile. */
  take(order: ProductOrder): Promise<Uint8Array | null>;
  takeLayers(order: LayersShotOrder): Promise<readonly TakenLayer[]>;
  dispose(): void;
}

/** Takes stills and layers of products. It keeps the last file, so that other finishes need no loading. */
export function createProductStudio(studio: StudioScene, decoders: Decoders): ProductStudio {
  const holdouts = createHoldouts();
  let clearest: { readonly name: string; readonly stand: Stand } | undefined;
  let loaded: { readonly key: string; readonly product: Product } | undefined;

  async function getProduct({ key, url }: Pick<ProductOrder, 'key' | 'url'>): Promise<Product> {
    if (loaded?.key === key) return loaded.product;
    drop();
    const product = await loadProduct(decoders, url);
    loaded = { key, product };
    return product;
  }

  function drop(): void {
    studio.show([]);
    holdouts.drop();
    if (loaded) disposeProduct(loaded.product);
    loaded = undefined;
  }

  /** Assigns materials, turns and frames the product, and computes light and shadow. */
  async function setUp(order: ShotOrder): Promise<Product> {
    const product = await getProduct(order);
    const close = order.closeOn && listPoints(product, order.closeOn);
    const stand = order.view === 'clearest' ? getClearestStand(product, order, close) : STANDS[order.view];
    assignMaterials(await loadAssignment(product, order.assignments));
    await breathe();
    const { widthPx, heightPx, quality } = order;
    poseProduct(studio, product, {
      stand,
      mount: order.mount,
      quality: quality === 'fine' ? 'still' : quality,
      widthPx,
      heightPx,
      framing: order.framing,
      close,
      productKey: order.key,
    });
    return product;
  }

  async function take(order: ProductOrder): Promise<Uint8Array | null> {
    const product = await setUp(order);
    const { widthPx, heightPx, quality, tile } = order;
    if (letsLightThrough(product)) {
      // Behind a transmissive part a viewer sees only the current tile.
      if (tile && (tile.widthPx < widthPx || tile.heightPx < heightPx)) return null;
      checkWhole(order);
    }
    studio.setSize(widthPx, heightPx, tile);
    for (let index = 0; index < SUBSAMPLES[quality]; index++) {
      await breathe();
      studio.light.use(index);
      studio.addSubsample(index);
    }
    return studio.accumulator.read(order.ground);
  }

  async function takeAllLayers(order: LayersShotOrder): Promise<readonly TakenLayer[]> {
    const product = await setUp(order);
    // A transparent part shows the parts behind it, which are in other layers.
    if (letsLightThrough(product) && order.layers.some((shows) => shows !== 'ground')) {
      throw new StudioProblem('renderer-failed', STUDIO_PROBLEMS['renderer-failed'].layersOfTransparent);
    }
    return takeLayers(studio, holdouts, product, order);
  }

  /** Whether the driver can draw a picture without tiles. */
  function checkWhole({ widthPx, heightPx }: ShotOrder): void {
    const limit = studio.renderer.capabilities.maxTextureSize;
    if (Math.max(widthPx, heightPx) > limit || widthPx * heightPx > WHOLE_PIXELS) {
      throw new StudioProblem('picture-too-large', STUDIO_PROBLEMS['picture-too-large'](limit, WHOLE_PIXELS));
    }
  }

  function getClearestStand(product: Product, { key, closeOn = [] }: ShotOrder, close?: Float32Array): Stand {
    const name = JSON.stringify([key, closeOn]);
    if (clearest?.name !== name) {
      const parts = new Set(listMeshes(product, closeOn));
      clearest = { name, stand: findClearestView(studio.renderer, product, parts, close ?? product.points) };
    }
    return clearest.stand;
  }

  async function withCare<Result>(work: () => Promise<Result>): Promise<Result> {
    try {
      return await work();
    } catch (error) {
      // After an error the file is loaded again for the next shot.
      drop();
      throw error;
    } finally {
      studio.catcher.holdOut(false);
    }
  }

  return {
    take: (order) =>
      withCare(() => {
        studio.catcher.holdOut(order.shadow === false);
        return take(order);
      }),
    takeLayers: (order) => withCare(() => takeAllLayers(order)),
    dispose() {
      drop();
      holdouts.dispose();
    },
  };
}

type Parts = Exclude<LayerContent, string>;

/** Vertices of some parts in the scene. */
function listPoints(product: Product, parts: Parts): Float32Array {
  product.root.removeFromParent();
  product.root.updateMatrixWorld(true);
  const points = bakeAllPositions(listMeshes(product, parts));
  if (points.length === 0)
    throw new StudioProblem('picture-nothing-to-see', STUDIO_PROBLEMS['picture-nothing-to-see'].noVertices);
  return points;
}

function letsLightThrough({ meshes }: Product): boolean {
  return meshes.some(({ material }) => (material as MeshPhysicalMaterial).transmission > 0);
}
