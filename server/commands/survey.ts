import { findBudget } from '../core/product/budgets.ts';
import { checkModel } from '../core/product/check-model.ts';
import { type Finding, judge } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { deriveSlots } from '../core/product/slot.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import type { Survey } from '../core/product/survey.ts';
import { createModels } from '../gltf/create-models.ts';
import { WORKERS } from '../root.ts';
import { openSource } from './open-source.ts';
import { readArguments } from './read-arguments.ts';
import { PRODUCT_OPTIONS, readProduct } from './read-product.ts';

/** `dyeworks survey model.glb [--json]`: 0 when ready or in need of attention, 1 when blocked. */
export async function surveyCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, ['a model'], { ...PRODUCT_OPTIONS, json: { type: 'boolean' } });
  const models = createModels(WORKERS.models);
  try {
    const { survey, pieces, packed, close } = await openSource(models, files[0]!);
    await close();
    const slots = fillSlotDefaults(deriveSlots(survey), survey);
    const product = readProduct(options);
    const budget = findBudget(product.budget)!;
    const findings = checkModel({ product, survey, slots, budget, pieces, packed });
    const verdict = judge(findings);
    if (options.json)
      console.log(JSON.stringify({ verdict, findings: groupFindings(findings), survey, slots }, null, 2));
    else {
      printSurvey(survey);
      console.log(
        `Slots      ${slots.map((slot) => `${slot.slot} (${slot.triangles} triangles)`).join(', ') || 'none'}`,
      );
      console.log(`Verdict    ${verdict}`);
      printFindings(findings);
    }
    return verdict === 'blocked' ? 1 : 0;
  } finally {
    await models.close();
  }
}

function printSurvey({ size, counts, bytes, variants, extensions, validator }: Survey): void {
  const mm = (value: number) => value.toFixed(1);
  console.log(
    `Size       ${size ? `${mm(size.widthMm)} × ${mm(size.depthMm)} × ${mm(size.heightMm)} mm (width × depth × height)` : 'nothing to measure'}`,
  );
  console.log(`Weight     ${(bytes / 1024 / 1024).toFixed(2)} MiB`);
  console.log(
    `Contents   ${counts.triangles} triangles, ${counts.draws} draws, ${counts.materials} materials, ${counts.images} images`,
  );
  if (variants.length > 0) console.log(`Variants   ${variants.join(', ')}`);
  if (extensions.used.length > 0) console.log(`Extensions ${extensions.used.join(', ')}`);
  console.log(`Validator  ${validator.errors} errors, ${validator.warnings} warnings`);
}

/** Findings by cause, each with its places. */
export function printFindings(findings: readonly Finding[]): void {
  for (const { severity, code, where, message, places = [] } of groupFindings(findings)) {
    console.log(
      `  ${severity.padEnd(7)} ${code} (${places.length > 0 ? `${places.length} places` : where}): ${message}`,
    );
    for (const place of places) console.log(`          ${place.place ?? place.where}`);
  }
}
