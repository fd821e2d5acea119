import type { Material, Mesh } from 'three';
import type { Dressing } from '../../server/core/ports/renderer.ts';
import type { Product } from './load-product.ts';
import { StudioProblem } from './studio-problem.ts';

/** What a product's meshes wear for a picture, ready to be put on at once. */
export interface Wardrobe {
  readonly product: Product;
  readonly worn: ReadonlyMap<Mesh, Material>;
  /** Its number, by which the product tells what was worn last. */
  readonly dressing: number;
}

/**
 * Fetches the materials of a dressing, loading those not worn before. Primitives the dressing does not name wear what
 * the file gives them; nodes that share a mesh change together.
 */
export async function planDressing(product: Product, dressing: readonly Dressing[]): Promise<Wardrobe> {
  const { materials } = product;
  const number = materials.begin();
  const worn = new Map(product.ownMaterials);
  await Promise.all(
    dressing.map(async ({ mesh, primitive, material }) => {
      if (material === null) return;
      if (!materials.has(material)) {
        throw new StudioProblem('renderer-failed', `The studio file has no material ${material}.`);
      }
      for (const target of product.byPrimitive.get(`${mesh}/${primitive}`) ?? []) {
        worn.set(target, await materials.getFinish(material, target.geometry));
      }
    }),
  );
  return { product, worn, dressing: number };
}

export function wear({ product, worn, dressing }: Wardrobe): void {
  for (const [mesh, material] of worn) mesh.material = material;
  product.materials.settle(dressing);
}
