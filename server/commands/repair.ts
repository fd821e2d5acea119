import { resolve } from 'node:path';
import { ConfigError } from '../config.ts';
import type { Surveyed } from '../core/ports/models.ts';
import { findBudget } from '../core/product/budgets.ts';
import { checkModel } from '../core/product/check-model.ts';
import type { Finding } from '../core/product/finding.ts';
import { groupFindings } from '../core/product/group-findings.ts';
import type { Product } from '../core/product/product.ts';
import { deriveSlots } from '../core/product/slot.ts';
import { judge } from '../core/product/verdict.ts';
import { listProposals } from '../core/repair/list-proposals.ts';
import { refuseBroken } from '../core/repair/refuse-broken.ts';
import { PRODUCT_OPTIONS, readArguments, readProduct } from './arguments.ts';
import { withModel } from './open-model.ts';
import { printJson } from './output.ts';
import { readSteps } from './read-files.ts';
import { replaceFile } from './replace-file.ts';
import { CALL_TEXTS, formatFindings, INPUTS, RESULT_TEXTS } from './texts.ts';

const OPTIONS = {
  ...PRODUCT_OPTIONS,
  output: { type: 'string', short: 'o' },
  repairs: { type: 'string' },
  proposals: { type: 'boolean' },
  preparation: { type: 'string' },
  list: { type: 'boolean' },
  json: { type: 'boolean' },
} as const;

/**
 * `dyeworks repair model.glb --proposals | --repairs steps.json | --preparation steps.json -o out.glb`: 0 when done, 1 when
 * findings still block. A preparation is made as the service makes it when a model arrives: a step that this model does not need
 * is left out. `--list` only prints the proposed repairs as JSON, in the form that `--repairs` and a preparation take.
 */
export async function repairCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], OPTIONS);
  const product = readProduct(options);
  const prepares = options.preparation !== undefined;
  if (prepares && (options.repairs !== undefined || options.proposals)) throw new ConfigError(CALL_TEXTS.oneSource);
  const path = options.preparation ?? options.repairs;
  const given = path === undefined ? [] : await readSteps(String(path));
  if (!options.list && options.output === undefined) throw new ConfigError(CALL_TEXTS.missingOption('output', 'o'));
  if (!options.list && !options.proposals && given.length === 0) throw new ConfigError(CALL_TEXTS.missingRepairs);
  const mode = prepares ? 'replay' : 'strict';
  return withModel(files[0]!, async (source, models) => {
    const proposals = listProposals(check(product, source));
    if (options.list) {
      printJson(proposals);
      return 0;
    }
    const repairs = [...given, ...(options.proposals ? proposals : [])];
    const targetPath = resolve(String(options.output));
    const { made, repaired } = await replaceFile(targetPath, async (partPath) => {
      const made = await models.repair({ sourcePath: source.path, targetPath: partPath, repairs, mode });
      const repaired = await models.survey(partPath, 'model/gltf-binary');
      refuseBroken(source.survey, repaired.survey);
      return { made, repaired };
    });
    const { reports, bytes, sha256 } = made;
    const findings = check(product, repaired);
    const verdict = judge(findings);
    if (options.json)
      printJson({ path: targetPath, bytes, sha256, verdict, reports, findings: groupFindings(findings) });
    else {
      for (const { repair, outcome, message } of reports) {
        console.log(RESULT_TEXTS.repair(outcome, repair.repair, message));
      }
      for (const line of formatFindings(findings)) console.log(line);
      console.log(RESULT_TEXTS.repaired(targetPath, verdict, bytes, sha256));
    }
    return verdict === 'blocked' ? 1 : 0;
  });
}

function check(product: Product, { survey, pieces }: Surveyed): Finding[] {
  return checkModel({ product, survey, slots: deriveSlots(survey), budget: findBudget(product.budget)!, pieces });
}
