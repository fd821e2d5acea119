import type { GltfJson, MaterialJson } from '../../document/json.ts';
import { meanScale } from '../../document/world-matrices.ts';
import type { BakedNode } from './plan-bake.ts';
import { listWorn } from './scale-lengths.ts';

/** Scales nearer than this are one: the noise of a chain of multiplications. */
const SAME = 1e-3;

/** What becomes of the thickness of volumes (`KHR_materials_volume`), which is stated in the space of the mesh. */
export interface ThicknessPlan {
  /** What a material's thickness is multiplied by. */
  readonly factors: ReadonlyMap<number, number>;
  /** Materials worn at several scales, of which a thickness can follow but one. */
  readonly uneven: readonly number[];
}

/** Finds how thick volumes are to be once the scale of what wears them is baked. Under an uneven scale the mean counts. */
export function planThickness(json: GltfJson, baked: readonly BakedNode[]): ThicknessPlan {
  const byNode = new Map(baked.map(({ node, matrix }) => [node, matrix]));
  const scales = new Map<number, { low: number; high: number }>();
  json.nodes?.forEach(({ mesh }, node) => {
    if (mesh === undefined) return;
    const matrix = byNode.get(node);
    // one that is flat stays as it is: thickness 0 would be another kind of glass
    const scale = (matrix && meanScale(matrix)) || 1;
    for (const material of listWorn(json.meshes![mesh]!.primitives)) {
      if (!hasThickness(json.materials?.[material])) continue;
      const { low, high } = scales.get(material) ?? { low: scale, high: scale };
      scales.set(material, { low: Math.min(low, scale), high: Math.max(high, scale) });
    }
  });
  const factors = new Map<number, number>();
  const uneven: number[] = [];
  for (const [material, { low, high }] of scales) {
    if (high - low > SAME * high) uneven.push(material);
    else if (Math.abs(low - 1) > SAME) factors.set(material, low);
  }
  return { factors, uneven };
}

function hasThickness(material: MaterialJson | undefined): boolean {
  const thickness = material?.extensions?.KHR_materials_volume?.thicknessFactor;
  return typeof thickness === 'number' && thickness !== 0;
}

export function bakeThickness(json: GltfJson, { factors }: ThicknessPlan): void {
  for (const [material, factor] of factors) {
    const volume = json.materials![material]!.extensions!.KHR_materials_volume!;
    volume.thicknessFactor = (volume.thicknessFactor as number) * factor;
  }
}

/** What cannot follow, in words. */
export function listThicknessLosses(json: GltfJson, { uneven }: ThicknessPlan): string[] {
  return uneven.map(
    (material) =>
      `the thickness of ${json.materials![material]!.name ? `“${json.materials![material]!.name}”` : `/materials/${material}`}, worn at several scales`,
  );
}
