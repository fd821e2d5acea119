import { readFile, rename, rm } from 'node:fs/promises';
import { resolve } from 'node:path';
import { refuseBroken } from '../actions/make-repairs.ts';
import { ConfigError } from '../config.ts';
import type { Surveyed } from '../core/ports/models.ts';
import { findBudget } from '../core/product/budgets.ts';
import { checkModel } from '../core/product/check-model.ts';
import { type Finding, judge } from '../core/product/finding.ts';
import type { Product } from '../core/product/product.ts';
import { deriveSlots } from '../core/product/slot.ts';
import { listProposals } from '../core/repair/list-proposals.ts';
import { readRepairs } from '../core/repair/read-repairs.ts';
import type { Repair, RepairReport } from '../core/repair/repair.ts';
import { createModels } from '../gltf/create-models.ts';
import { WORKERS } from '../root.ts';
import { openSource } from './open-source.ts';
import { readArguments } from './read-arguments.ts';
import { PRODUCT_OPTIONS, readProduct } from './read-product.ts';
import { printFindings } from './survey.ts';

const OPTIONS = {
  ...PRODUCT_OPTIONS,
  output: { type: 'string', short: 'o' },
  repairs: { type: 'string' },
  proposals: { type: 'boolean' },
  list: { type: 'boolean' },
} as const;

/**
 * `dyeworks repair model.glb --proposals | --repairs steps.json -o out.glb`: 0 when done and ready, 1 when findings are
 * left that want attention. With `--list` the proposed repairs are printed as JSON, to be kept as a preparation, and
 * nothing is written.
 */
export async function repairCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, ['a model'], OPTIONS);
  const product = readProduct(options);
  const given = options.repairs === undefined ? [] : await readSteps(String(options.repairs));
  if (!options.list && options.output === undefined)
    throw new ConfigError('--output (-o) is missing. See dyeworks --help.');
  if (!options.list && !options.proposals && given.length === 0) {
    throw new ConfigError('Say which repairs: --proposals, or --repairs with a file. See dyeworks --help.');
  }
  const models = createModels(WORKERS.models);
  const source = await openSource(models, files[0]!).catch(async (error: unknown) => {
    await models.close();
    throw error;
  });
  try {
    const proposals = listProposals(check(product, source));
    if (options.list) {
      console.log(JSON.stringify(proposals, null, 2));
      return 0;
    }
    const repairs = [...given, ...(options.proposals ? proposals : [])];
    const targetPath = resolve(String(options.output));
    // beside the file and renamed over it only when it is whole and measured: an earlier one is not lost
    const partPath = `${targetPath}.part`;
    try {
      const request = { sourcePath: source.path, targetPath: partPath, repairs, mode: 'strict' as const };
      const { reports, bytes, sha256 } = await models.repair(request);
      const repaired = await models.survey(partPath, 'model/gltf-binary');
      refuseBroken(source.survey, repaired.survey);
      await rename(partPath, targetPath);
      printReports(reports);
      const findings = check(product, repaired);
      printFindings(findings);
      const verdict = judge(findings);
      console.log(`${targetPath}: ${verdict}, ${bytes} bytes, sha256 ${sha256}`);
      return verdict === 'ready' ? 0 : 1;
    } catch (error) {
      await rm(partPath, { force: true });
      throw error;
    }
  } finally {
    await source.close();
    await models.close();
  }
}

function check(product: Product, { survey, pieces }: Surveyed): Finding[] {
  return checkModel({ product, survey, slots: deriveSlots(survey), budget: findBudget(product.budget)!, pieces });
}

/** A list of repairs, as `--list` prints it and the preparation of a product holds it. */
async function readSteps(path: string): Promise<Repair[]> {
  const text = await readFile(path, 'utf8').catch((error: Error) => {
    throw new ConfigError(`${path} cannot be read: ${error.message}`);
  });
  try {
    return readRepairs(JSON.parse(text));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    throw new ConfigError(`${path} is not JSON: ${error.message}`);
  }
}

function printReports(reports: readonly RepairReport[]): void {
  for (const { repair, outcome, message } of reports) {
    console.log(`  ${outcome.padEnd(13)} ${repair.repair}: ${message}`);
  }
}
