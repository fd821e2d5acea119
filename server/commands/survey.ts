import { findBudget } from '../core/product/budgets.ts';
import { checkModel } from '../core/product/check-model.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import { deriveSlots } from '../core/product/slot.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import { judge } from '../core/product/verdict.ts';
import { PRODUCT_OPTIONS, readArguments, readProduct } from './arguments.ts';
import { withModel } from './open-model.ts';
import { printJson } from './output.ts';
import { formatFindings, formatSurvey, INPUTS } from './texts.ts';

/** `dyeworks survey model.glb [--json]`: 0 when ready or in need of attention, 1 when blocked. */
export async function surveyCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], { ...PRODUCT_OPTIONS, json: { type: 'boolean' } });
  const product = readProduct(options);
  const budget = findBudget(product.budget)!;
  return withModel(files[0]!, async ({ survey, pieces, packed }) => {
    const slots = fillSlotDefaults(deriveSlots(survey), survey);
    const findings = checkModel({ product, survey, slots, budget, pieces, packed });
    const verdict = judge(findings);
    if (options.json) {
      printJson({ verdict, findings: groupFindings(findings), survey, slots });
    } else {
      console.log(formatSurvey(survey, slots, verdict));
      for (const line of formatFindings(findings)) console.log(line);
    }
    return verdict === 'blocked' ? 1 : 0;
  });
}
