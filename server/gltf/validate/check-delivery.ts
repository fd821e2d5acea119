import { open } from 'node:fs/promises';
import { countAdded, countErrors } from '../../core/delivery/count-errors.ts';
import type { DeliveryCheck } from '../../core/delivery/delivery.ts';
import type { MappingPlan } from '../../core/delivery/mapping-plan.ts';
import type { ValidatorMessage } from '../../core/product/survey.ts';
import { readContainer } from '../document/container.ts';
import { readModel } from '../mend/read-model.ts';
import { checkSecondParser } from './check-second-parser.ts';
import { checkVariantRules } from './check-variant-rules.ts';
import { validateDelivery } from './validate-delivery.ts';

/**
 * Reads a delivery back from disk with other eyes than wrote it.
 * @param sourcePath the model it was made of: an error that this has too, once mended, is not the delivery's
 * @param modelBytes bytes of the BIN chunk that came from the source; what follows was added
 */
export async function checkDelivery(
  path: string,
  sourcePath: string,
  plan: MappingPlan,
  resultMaterials: readonly (number | null)[],
  modelBytes: number,
): Promise<DeliveryCheck[]> {
  const { json, bin } = await readContainer(path);
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
