import { NodeIO } from '@gltf-transform/core';
import { KHRMaterialsVariants, type Mapping, type MappingList } from '@gltf-transform/extensions';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import { type GltfJson, VARIANTS } from '../json.ts';

/**
 * Lets another library read the variants of a written file and compares, for every primitive and variant, the name of the
 * material it finds with the plan's. Geometry, images and nodes are left out of what it reads: they are not at stake.
 * @param materialNames name of the material of every result of the plan
 * @returns what differs, at most ten
 */
export async function checkOtherParser(
  json: GltfJson,
  plan: MappingPlan,
  materialNames: readonly string[],
): Promise<string[]> {
  const document = await new NodeIO()
    .registerExtensions([KHRMaterialsVariants])
    .readJSON({ json: reduce(json) as never, resources: {} });
  const root = document.getRoot();
  const wrong: string[] = [];
  const extension = root.listExtensionsUsed().find((used) => used.extensionName === VARIANTS) as
    | KHRMaterialsVariants
    | undefined;
  const found = extension?.listVariants().map((variant) => variant.getName()) ?? [];
  if (JSON.stringify(found) !== JSON.stringify(plan.variants)) wrong.push('the names of the variants differ');
  const meshes = root.listMeshes();
  for (const planned of plan.primitives) {
    const at = `/meshes/${planned.mesh}/primitives/${planned.primitive}`;
    const primitive = meshes[planned.mesh]?.listPrimitives()[planned.primitive];
    const base = primitive?.getMaterial()?.getName() ?? '';
    if (base !== materialNames[planned.base]) wrong.push(`${at} shows “${base}” before a choice`);
    const list = primitive?.getExtension<MappingList>(VARIANTS);
    const byVariant = new Map<string, string>();
    for (const mapping of (list?.listMappings() ?? []) as Mapping[]) {
      for (const variant of mapping.listVariants())
        byVariant.set(variant.getName(), mapping.getMaterial()?.getName() ?? '');
    }
    for (const mapping of planned.mappings) {
      for (const variant of mapping.variants) {
        const seen = byVariant.get(plan.variants[variant]!);
        if (seen !== materialNames[mapping.result]) wrong.push(`${at} shows “${seen}” in “${plan.variants[variant]}”`);
        if (wrong.length >= 10) return wrong;
      }
    }
  }
  return wrong;
}

/** Only what variants hang on: meshes with bare primitives, and materials with names. */
function reduce(json: GltfJson): GltfJson {
  return {
    asset: { version: '2.0' },
    ...(json.extensions?.[VARIANTS] && {
      extensionsUsed: [VARIANTS],
      extensions: { [VARIANTS]: json.extensions[VARIANTS] },
    }),
    ...(json.materials && { materials: json.materials.map(({ name }) => (name === undefined ? {} : { name })) }),
    ...(json.meshes && {
      meshes: json.meshes.map((mesh) => ({
        primitives: mesh.primitives.map(({ material, extensions }) => ({
          attributes: {},
          ...(material !== undefined && { material }),
          ...(extensions?.[VARIANTS] && { extensions: { [VARIANTS]: extensions[VARIANTS] } }),
        })),
      })),
    }),
  };
}
