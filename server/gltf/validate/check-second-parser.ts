import { createHash } from 'node:crypto';
import { NodeIO, type Primitive } from '@gltf-transform/core';
import { KHRMaterialsVariants, type Mapping, type MappingList } from '@gltf-transform/extensions';
import type { MappingPlan, PlannedPrimitive } from '../../core/delivery/mapping-plan.ts';
import { type GltfJson, VARIANTS } from '../document/json.ts';

/**
 * Lets another library read the variants of a written file and compares, for every primitive and variant, the name of the
 * material with the plan's. The library does not read geometry, images and nodes, which this check does not need.
 * Primitives that are equal in the file and in the plan are read once: the library took half a minute for hundreds of loose
 * parts times thousands of variants.
 * @param materialNames name of the material of every result of the plan
 * @returns up to ten differences
 */
export async function checkSecondParser(
  json: GltfJson,
  plan: MappingPlan,
  materialNames: readonly string[],
): Promise<string[]> {
  const groups = groupAlike(json, plan, materialNames);
  const document = await new NodeIO()
    .registerExtensions([KHRMaterialsVariants])
    .readJSON({ json: reduce(json, groups) as never, resources: {} });
  const root = document.getRoot();
  const wrong: string[] = [];
  const extension = root.listExtensionsUsed().find((used) => used.extensionName === VARIANTS) as
    | KHRMaterialsVariants
    | undefined;
  const found = extension?.listVariants().map((variant) => variant.getName()) ?? [];
  if (JSON.stringify(found) !== JSON.stringify(plan.variants)) wrong.push('the names of the variants differ');
  const primitives = root.listMeshes().flatMap((mesh) => mesh.listPrimitives());
  groups.forEach((planned, i) => {
    if (wrong.length < 10) wrong.push(...comparePrimitive(primitives[i], planned, plan, materialNames));
  });
  return wrong.slice(0, 10);
}

function comparePrimitive(
  primitive: Primitive | undefined,
  planned: PlannedPrimitive,
  plan: MappingPlan,
  materialNames: readonly string[],
): string[] {
  const at = `/meshes/${planned.mesh}/primitives/${planned.primitive}`;
  const wrong: string[] = [];
  const base = primitive?.getMaterial()?.getName() ?? '';
  if (base !== materialNames[planned.base]) wrong.push(`${at} shows “${base}” before a choice`);
  const list = primitive?.getExtension<MappingList>(VARIANTS);
  const byVariant = new Map<string, string>();
  for (const mapping of (list?.listMappings() ?? []) as Mapping[]) {
    const name = mapping.getMaterial()?.getName() ?? '';
    for (const variant of mapping.listVariants()) byVariant.set(variant.getName(), name);
  }
  for (const mapping of planned.mappings) {
    for (const variant of mapping.variants) {
      const seen = byVariant.get(plan.variants[variant]!);
      if (seen !== materialNames[mapping.result]) wrong.push(`${at} shows “${seen}” in “${plan.variants[variant]}”`);
    }
  }
  return wrong;
}

/** One planned primitive for each group that is equal in the file and in the plan. */
function groupAlike(json: GltfJson, plan: MappingPlan, materialNames: readonly string[]): PlannedPrimitive[] {
  const groups = new Map<string, PlannedPrimitive>();
  // primitives of a slot share list objects of the plan: of mappings if they are equal, of variants always
  const numbers = new Map<unknown, number>();
  const numberOf = (list: unknown): number => {
    if (!numbers.has(list)) numbers.set(list, numbers.size);
    return numbers.get(list)!;
  };
  const planKeys = new Map<unknown, string>();
  // so do those of the file, if their bytes are equal
  const digests = new Map<unknown, string>();
  const digestOf = (mappings: unknown): string => {
    let digest = digests.get(mappings);
    if (digest === undefined) {
      digest = createHash('sha256').update(JSON.stringify(mappings)).digest('hex');
      digests.set(mappings, digest);
    }
    return digest;
  };
  for (const planned of plan.primitives) {
    const planKey =
      planKeys.get(planned.mappings) ??
      JSON.stringify(planned.mappings.map(({ result, variants }) => [materialNames[result], numberOf(variants)]));
    planKeys.set(planned.mappings, planKey);
    const { material, extensions } = json.meshes![planned.mesh]!.primitives[planned.primitive]!;
    const { mappings, ...more } = extensions?.[VARIANTS] ?? {};
    const written = JSON.stringify([material, mappings !== undefined && digestOf(mappings), more]);
    const key = `${planKey} ${materialNames[planned.base]} ${written}`;
    if (!groups.has(key)) groups.set(key, planned);
  }
  return [...groups.values()];
}

/** Reduces a document to its variants: one bare mesh for each group, and materials with names. */
function reduce(json: GltfJson, groups: readonly PlannedPrimitive[]): GltfJson {
  return {
    asset: { version: '2.0' },
    ...(json.extensions?.[VARIANTS] && {
      extensionsUsed: [VARIANTS],
      extensions: { [VARIANTS]: json.extensions[VARIANTS] },
    }),
    ...(json.materials && { materials: json.materials.map(({ name }) => (name === undefined ? {} : { name })) }),
    meshes: groups.map(({ mesh, primitive }) => {
      const { material, extensions } = json.meshes![mesh]!.primitives[primitive]!;
      return {
        primitives: [
          {
            attributes: {},
            ...(material !== undefined && { material }),
            ...(extensions?.[VARIANTS] && { extensions: { [VARIANTS]: extensions[VARIANTS] } }),
          },
        ],
      };
    }),
  };
}
