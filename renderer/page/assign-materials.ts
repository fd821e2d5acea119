import type { Material, Mesh } from 'three';
import type { Dressing } from '../../server/core/ports/renderer.ts';
import { STUDIO_PROBLEMS } from '../../server/core/texts/problems/picture.ts';
import type { Product } from './load-product.ts';
import { StudioProblem } from './studio-problem.ts';

/** The material of every mesh for one picture, loaded and ready to be assigned at once. */
export interface Assignment {
  readonly product: Product;
  readonly materials: ReadonlyMap<Mesh, Material>;
  /** Counts up, so that the product knows which assignment was the last. */
  readonly number: number;
}

/**
 * Loads the materials of an assignment that are not loaded yet. Primitives it does not name keep the file's own material;
 * nodes that share a mesh change together.
 * @throws StudioProblem `renderer-failed` for a material the studio file does not have
 */
export async function loadAssignment(product: Product, wanted: readonly Dressing[]): Promise<Assignment> {
  const number = product.materials.begin();
  const materials = new Map(product.ownMaterials);
  await Promise.all(
    wanted.map(async ({ mesh, primitive, material }) => {
      if (material === null) return;
      if (!product.materials.has(material)) {
        throw new StudioProblem('renderer-failed', STUDIO_PROBLEMS['renderer-failed'].noMaterial(material));
      }
      for (const target of product.byPrimitive.get(`${mesh}/${primitive}`) ?? []) {
        materials.set(target, await product.materials.getFinish(material, target.geometry));
      }
    }),
  );
  return { product, materials, number };
}

export function assignMaterials({ product, materials, number }: Assignment): void {
  for (const [mesh, material] of materials) mesh.material = material;
  product.materials.settle(number);
}
