import type { ProductShot } from '../../server/core/ports/renderer.ts';
import type { ModelLoader } from './create-loader.ts';
import { planDressing, wear } from './dress-product.ts';
import { disposeProduct, loadProduct, type Product } from './load-product.ts';
import { setProduct } from './product-set.ts';
import type { Stage } from './stage.ts';
import { SUBSAMPLES } from './subsamples.ts';
import { STANDS } from './views.ts';

/** A product shot whose file is to be had under an address. */
export interface ProductOrder extends Omit<ProductShot, 'file'> {
  readonly key: string;
  readonly url: string;
}

export interface ProductStudio {
  take(order: ProductOrder): Promise<Uint8Array>;
  dispose(): void;
}

/** Takes stills of products; keeps the last file loaded, so that its next dressing costs no loading. */
export function createProductStudio(stage: Stage, loader: ModelLoader): ProductStudio {
  let loaded: { readonly key: string; readonly product: Product } | undefined;

  async function getProduct(order: ProductOrder): Promise<Product> {
    if (loaded?.key === order.key) return loaded.product;
    drop();
    const product = await loadProduct(loader, order.url);
    loaded = { key: order.key, product };
    return product;
  }

  function drop(): void {
    stage.show([]);
    if (loaded) disposeProduct(loaded.product);
    loaded = undefined;
  }

  return {
    async take(order) {
      try {
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
        for (let index = 0; index < SUBSAMPLES[order.quality]; index++) {
          stage.light.use(index);
          stage.addSubsample(index);
        }
        return stage.accumulator.read(order.ground);
      } catch (error) {
        // a file that made trouble is not kept: the next shot of it starts afresh
        drop();
        throw error;
      }
    },
    dispose: drop,
  };
}
