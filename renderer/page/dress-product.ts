import type { Material, Mesh } from 'three';
import type { Dressing } from '../../server/core/ports/renderer.ts';
import { forgetFinishes } from './forget-finishes.ts';
import type { Product } from './load-product.ts';
import { StudioProblem } from './studio-problem.ts';

/** What a product's meshes wear for a picture, ready to be put on at once. */
export type Wardrobe = ReadonlyMap<Mesh, Material>;

/**
 * Fetches the materials of a dressing, loading those not worn before. Primitives the dressing does not name wear what
 * the file gives them; nodes that share a mesh change together.
 */
export async function planDressing(product: Product, dressing: readonly Dressing[]): Promise<Wardrobe> {
  const { parser } = product;
  const wardrobe = new Map(product.ownMaterials);
  await Promise.all(
    dressing.map(async ({ mesh, primitive, material }) => {
      if (material === null) return;
      if (!parser.json.materials?.[material]) {
        throw new StudioProblem('renderer-failed', `The studio file has no material ${material}.`);
      }
      const raw = (await parser.getDependency('material', material)) as Material;
      for (const target of product.byPrimitive.get(`${mesh}/${primitive}`) ?? []) {
        // the parser fits the material to the mesh: vertex colours, flat facets, tangents by derivatives
        const worn = target.material;
        target.material = raw;
        parser.assignFinalMaterial(target);
        const fitted = target.material as Material;
        // a delivery takes vertex colours off the parts that take finishes, since they would tint every one of them
        fitted.vertexColors = false;
        wardrobe.set(target, fitted);
        target.material = worn;
      }
    }),
  );
  const [failed] = product.failedTextures;
  if (failed !== undefined) {
    const name = parser.json.textures?.[failed]?.name ?? '';
    throw new StudioProblem(
      'renderer-failed',
      `Texture ${failed}${name && ` (${name})`} of the model cannot be decoded.`,
    );
  }
  forgetFinishes(product, new Set(dressing.flatMap(({ material }) => material ?? [])));
  return wardrobe;
}

export function wear(wardrobe: Wardrobe): void {
  for (const [mesh, material] of wardrobe) mesh.material = material;
}
