import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { type GltfJson, VARIANTS } from '../document/json.ts';

/**
 * Looks at a written file's JSON with the rules of `KHR_materials_variants` in hand, the two the validator does not check
 * included (empty and repeated names, the extension under `extensionsRequired`).
 * @returns what is wrong, at most ten; empty when nothing is
 */
export function checkVariantRules(json: GltfJson, plan: MappingPlan): string[] {
  const wrong: string[] = [];
  const variants = (json.extensions?.[VARIANTS]?.variants ?? []) as { name?: string }[];
  const names = variants.map((variant) => (variant.name ?? '').toLowerCase());
  if (names.some((name) => name === '')) wrong.push('a variant without a name');
  if (new Set(names).size !== names.length) wrong.push('two variants of one name');
  if (variants.length !== plan.variants.length)
    wrong.push(`${variants.length} variants instead of ${plan.variants.length}`);
  if (plan.variants.length > 0 && !json.extensionsUsed?.includes(VARIANTS)) wrong.push('the extension is not declared');
  if (json.extensionsRequired?.includes(VARIANTS)) wrong.push('the extension is required');
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const at = `/meshes/${m}/primitives/${p}`;
      const mappings = primitive.extensions?.[VARIANTS]?.mappings as
        | { material: number; variants: number[] }[]
        | undefined;
      if (!mappings) return;
      if (mappings.length === 0) wrong.push(`${at}: no mappings`);
      const seen = new Set<number>();
      for (const mapping of mappings) {
        if (mapping.variants.length === 0) wrong.push(`${at}: a mapping without variants`);
        if (!json.materials?.[mapping.material]) wrong.push(`${at}: material ${mapping.material} is not there`);
        for (const variant of mapping.variants) {
          if (seen.has(variant)) wrong.push(`${at}: variant ${variant} twice`);
          if (!(variant in variants)) wrong.push(`${at}: variant ${variant} is not there`);
          seen.add(variant);
        }
      }
      if (seen.size !== variants.length)
        wrong.push(`${at}: ${variants.length - seen.size} variants without a material`);
      if (!mappings.some((mapping) => mapping.material === primitive.material))
        wrong.push(`${at}: the default is no variant's material`);
    });
  });
  return wrong.slice(0, 10);
}
