import { open } from 'node:fs/promises';
import { countAdded, countErrors, type DeliveryCheck } from '../../core/delivery/delivery.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import type { ValidatorMessage } from '../../core/product/survey.ts';
import { readDelivered } from '../document/container.ts';
import { type GltfJson, VARIANTS } from '../document/json.ts';
import { readModel } from '../mend/read-model.ts';
import { checkSecondParser } from './check-second-parser.ts';
import { validateDelivery } from './run-validator.ts';

/**
 * Reads a delivery back from disk and checks it with code that had no part in writing it.
 * @param sourcePath the model of the delivery; errors that the mended model has too do not count as added
 * @param modelBytes bytes of the BIN chunk that come from the source; the rest was added
 */
export async function checkDelivery(
  path: string,
  sourcePath: string,
  plan: MappingPlan,
  resultMaterials: readonly (number | null)[],
  modelBytes: number,
): Promise<DeliveryCheck[]> {
  const { json, bin } = await readDelivered(path);
  const names = resultMaterials.map((index) => (index === null ? '' : (json.materials?.[index]?.name ?? '')));
  const rules = checkVariantRules(json, plan);
  const differences = await checkSecondParser(json, plan, names);
  const validator = await validateDelivery(json, await readAdded(path, bin, modelBytes), modelBytes);
  const first = validator.messages.find((message) => message.severity === 0);
  const errors = countErrors(validator);
  const added = validator.errors > 0 ? countAdded(validator.messages, await validateSource(sourcePath)) : 0;
  return [
    {
      check: 'variant-rules',
      passed: rules.length === 0,
      detail:
        rules.length === 0
          ? `${plan.variants.length} variants by the rules of KHR_materials_variants`
          : rules.join('; '),
    },
    {
      check: 'second-parser',
      passed: differences.length === 0,
      detail:
        differences.length === 0
          ? `glTF-Transform reads the same material for every primitive and variant (${plan.primitives.length} × ${plan.variants.length})`
          : differences.join('; '),
    },
    {
      check: 'validator',
      passed: validator.errors === 0,
      errors,
      added,
      detail: `glTF validator ${validator.version}: ${validator.errors} errors, ${validator.warnings} warnings${first ? `; first: ${first.code} ${first.pointer}` : ''}`,
    },
  ];
}

/** The source as the writer saw it, validated in the same way: mended, and without its geometry. */
async function validateSource(path: string): Promise<readonly ValidatorMessage[]> {
  const { json, bin } = await readModel(path);
  return (await validateDelivery(json, new Uint8Array(), bin?.length ?? 0)).messages;
}

async function readAdded(
  path: string,
  bin: { offset: number; length: number } | null,
  start: number,
): Promise<Uint8Array> {
  if (!bin || bin.length <= start) return new Uint8Array();
  const file = await open(path, 'r');
  try {
    const bytes = new Uint8Array(bin.length - start);
    await file.read(bytes, 0, bytes.length, bin.offset + start);
    return bytes;
  } finally {
    await file.close();
  }
}

/**
 * Checks the JSON of a written file against the rules of `KHR_materials_variants`, also those that the validator does not check:
 * empty and repeated names, and the extension in `extensionsRequired`.
 * @returns up to ten faults
 */
function checkVariantRules(json: GltfJson, plan: MappingPlan): string[] {
  const wrong: string[] = [];
  const variants = (json.extensions?.[VARIANTS]?.variants ?? []) as { name?: string }[];
  const names = variants.map((variant) => (variant.name ?? '').toLowerCase());
  if (names.some((name) => name === '')) wrong.push('a variant without a name');
  if (new Set(names).size !== names.length) wrong.push('two variants of one name');
  if (variants.length !== plan.variants.length)
    wrong.push(`${variants.length} variants instead of ${plan.variants.length}`);
  if (plan.variants.length > 0 && !json.extensionsUsed?.includes(VARIANTS)) wrong.push('the extension is not declared');
  if (json.extensionsRequired?.includes(VARIANTS)) wrong.push('the extension is required');
  // primitives with equal mappings share one list: each is checked once
  const known = new Map<unknown, readonly string[]>();
  json.meshes?.forEach((mesh, m) => {
    mesh.primitives.forEach((primitive, p) => {
      const mappings = primitive.extensions?.[VARIANTS]?.mappings as readonly Mapping[] | undefined;
      if (!mappings) return;
      const at = `/meshes/${m}/primitives/${p}`;
      let faults = known.get(mappings);
      if (!faults) known.set(mappings, (faults = checkMappings(mappings, variants.length, json)));
      wrong.push(...faults.map((fault) => `${at}: ${fault}`));
      if (!mappings.some((mapping) => mapping.material === primitive.material))
        wrong.push(`${at}: the default is no variant's material`);
    });
  });
  return wrong.slice(0, 10);
}

interface Mapping {
  readonly material: number;
  readonly variants: readonly number[];
}

/** @returns up to ten faults of the mappings of a primitive */
function checkMappings(mappings: readonly Mapping[], variants: number, json: GltfJson): string[] {
  const wrong: string[] = [];
  if (mappings.length === 0) wrong.push('no mappings');
  const seen = new Set<number>();
  for (const mapping of mappings) {
    if (mapping.variants.length === 0) wrong.push('a mapping without variants');
    if (!json.materials?.[mapping.material]) wrong.push(`material ${mapping.material} is not there`);
    for (const variant of mapping.variants) {
      if (!Number.isInteger(variant) || variant < 0 || variant >= variants)
        wrong.push(`variant ${variant} is not there`);
      else if (seen.has(variant)) wrong.push(`variant ${variant} twice`);
      else seen.add(variant);
    }
  }
  if (seen.size !== variants) wrong.push(`${variants - seen.size} variants without a material`);
  return wrong.slice(0, 10);
}
