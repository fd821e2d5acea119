import { readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { ConfigError } from '../config.ts';
import type { Surveyed } from '../core/ports/models.ts';
import { findBudget } from '../core/product/budgets.ts';
import { checkModel } from '../core/product/check-model.ts';
import { type Finding, judge } from '../core/product/finding.ts';
import type { Product } from '../core/product/product.ts';
import { deriveSlots } from '../core/product/slot.ts';
import { listProposals } from '../core/repair/list-proposals.ts';
import { readRepairs } from '../core/repair/read-repairs.ts';
import { refuseBroken } from '../core/repair/refuse-broken.ts';
import type { Repair } from '../core/repair/repair.ts';
import { PRODUCT_OPTIONS, readArguments, readProduct } from './arguments.ts';
import { withModel } from './open-model.ts';
import { replaceFile } from './replace-file.ts';

import { CALL_TEXTS, FILE_TEXTS, formatFindings, INPUTS, RESULT_TEXTS } from './texts.ts';

const OPTIONS = {
  ...PRODUCT_OPTIONS,
  output: { type: 'string', short: 'o' },
  repairs: { type: 'string' },
  proposals: { type: 'boolean' },
  list: { type: 'boolean' },
} as const;

/**
 * `dyeworks repair model.glb --proposals | --repairs steps.json -o out.glb`: 0 when done, 1 when findings still block.
 * `--list` only prints the proposed repairs as JSON, in the form that `--repairs` and a preparation take.
 */
export async function repairCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], OPTIONS);
  const product = readProduct(options);
  const given = options.repairs === undefined ? [] : await readSteps(String(options.repairs));
  if (!options.list && options.output === undefined) throw new ConfigError(CALL_TEXTS.missingOption('output', 'o'));
  if (!options.list && !options.proposals && given.length === 0) throw new ConfigError(CALL_TEXTS.missingRepairs);
  return withModel(files[0]!, async (source, models) => {
    const proposals = listProposals(check(product, source));
    if (options.list) {
      console.log(JSON.stringify(proposals, null, 2));
      return 0;
    }
    const repairs = [...given, ...(options.proposals ? proposals : [])];
    const targetPath = resolve(String(options.output));
    const { made, repaired } = await replaceFile(targetPath, async (partPath) => {
      const request = { sourcePath: source.path, targetPath: partPath, repairs, mode: 'strict' as const };
      const made = await models.repair(request);
      const repaired = await models.survey(partPath, 'model/gltf-binary');
      refuseBroken(source.survey, repaired.survey);
      return { made, repaired };
    });
    for (const { repair, outcome, message } of made.reports) {
      console.log(RESULT_TEXTS.repair(outcome, repair.repair, message));
    }
    const findings = check(product, repaired);
    for (const line of formatFindings(findings)) console.log(line);
    const verdict = judge(findings);
    console.log(RESULT_TEXTS.repaired(targetPath, verdict, made.bytes, made.sha256));
    return verdict === 'blocked' ? 1 : 0;
  });
}

function check(product: Product, { survey, pieces }: Surveyed): Finding[] {
  return checkModel({ product, survey, slots: deriveSlots(survey), budget: findBudget(product.budget)!, pieces });
}

/** Reads a list of repairs in the form that `--list` prints. @throws ConfigError, or Problem for a repair of a wrong form */
async function readSteps(path: string): Promise<Repair[]> {
  const text = await readFile(path, 'utf8').catch((error: Error) => {
    throw new ConfigError(FILE_TEXTS.unreadable(path, error.message));
  });
  try {
    return readRepairs(JSON.parse(text));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    throw new ConfigError(FILE_TEXTS.notJson(path, error.message));
  }
}
