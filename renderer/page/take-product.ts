import type { Material, Mesh, MeshPhysicalMaterial } from 'three';
import type { LayerShot, ProductShot } from '../../server/core/ports/renderer.ts';
import type { ModelLoader } from './create-loader.ts';
import { planDressing, wear } from './dress-product.ts';
import { createHoldouts } from './hold-out.ts';
import { disposeProduct, loadProduct, type Product } from './load-product.ts';
import { setProduct } from './product-set.ts';
import type { Stage } from './stage.ts';
import { StudioProblem } from './studio-problem.ts';
import { SUBSAMPLES } from './subsamples.ts';
import { STANDS } from './views.ts';

/** A product shot whose file is to be had under an address. */
export interface ProductOrder extends Omit<ProductShot, 'file'> {
  readonly key: string;
  readonly url: string;
}

export interface LayerOrder extends Omit<LayerShot, 'file'> {
  readonly key: string;
  readonly url: string;
}

export interface ProductStudio {
  take(order: ProductOrder): Promise<Uint8Array>;
  takeLayer(order: LayerOrder): Promise<Uint8Array>;
  dispose(): void;
}

/** Takes stills and layers of products; keeps the last file loaded, so that its next dressing costs no loading. */
export function createProductStudio(stage: Stage, loader: ModelLoader): ProductStudio {
  const holdouts = createHoldouts();
  let loaded: { readonly key: string; readonly product: Product } | undefined;

  async function getProduct({ key, url }: Pick<ProductOrder, 'key' | 'url'>): Promise<Product> {
    if (loaded?.key === key) return loaded.product;
    drop();
    const product = await loadProduct(loader, url);
    loaded = { key, product };
    return product;
  }

  function drop(): void {
    stage.show([]);
    holdouts.drop();
    if (loaded) disposeProduct(loaded.product);
    loaded = undefined;
  }

  /** Sets the dressed product up; with `shows` all else is held out once light and shadow are worked out. */
  async function take(order: Omit<ProductOrder, 'ground'>, shows: LayerShot['shows'] | null): Promise<void> {
    const product = await getProduct(order);
    wear(await planDressing(product, order.dressing));
    stage.setSize(order.widthPx, order.heightPx);
    setProduct(stage, product, {
      stand: STANDS[order.view],
      mount: order.mount,
      quality: order.quality,
      aspect: order.widthPx / order.heightPx,
      productKey: order.key,
    });
    if (shows !== null) holdOut(product, order.dressing, shows);
    for (let index = 0; index < SUBSAMPLES[order.quality]; index++) {
      stage.light.use(index);
      stage.addSubsample(index);
    }
  }

  function holdOut(product: Product, dressing: LayerOrder['dressing'], shows: LayerShot['shows']): void {
    const shown = listShown(product, dressing, shows);
    for (const mesh of product.meshes) {
      const material = mesh.material as Material;
      if ((material as MeshPhysicalMaterial).transmission > 0) {
        // what is seen through it would have to be in the same layer
        throw new StudioProblem('renderer-failed', 'Light passes through a part: it cannot be taken in layers.');
      }
      if (!shown.has(mesh)) mesh.material = holdouts.of(material);
    }
    stage.catcher.holdOut(shows !== 'ground');
  }

  async function withCare(work: () => Promise<Uint8Array>): Promise<Uint8Array> {
    try {
      return await work();
    } catch (error) {
      // a file that made trouble is not kept: the next shot of it starts afresh
      drop();
      throw error;
    } finally {
      stage.catcher.holdOut(false);
    }
  }

  return {
    take: (order) =>
      withCare(async () => {
        await take(order, null);
        return stage.accumulator.read(order.ground);
      }),
    takeLayer: (order) =>
      withCare(async () => {
        await take(order, order.shows);
        return stage.accumulator.readLayer();
      }),
    dispose() {
      drop();
      holdouts.dispose();
    },
  };
}

function listShown(product: Product, dressing: LayerOrder['dressing'], shows: LayerShot['shows']): ReadonlySet<Mesh> {
  const listMeshes = (parts: Exclude<LayerShot['shows'], string>) =>
    parts.flatMap(({ mesh, primitive }) => product.byPrimitive.get(`${mesh}/${primitive}`) ?? []);
  if (shows === 'ground') return new Set();
  if (shows !== 'rest') return new Set(listMeshes(shows));
  const dressed = new Set(listMeshes(dressing));
  return new Set(product.meshes.filter((mesh) => !dressed.has(mesh)));
}
