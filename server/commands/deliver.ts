import { rename, rm } from 'node:fs/promises';
import { resolve } from 'node:path';
import { writeChecked } from '../actions/write-checked.ts';
import { ConfigError } from '../config.ts';
import { foldCode } from '../core/codes.ts';
import { planMappings } from '../core/delivery/mapping-plan.ts';
import { findBudget } from '../core/product/budgets.ts';
import { checkModel } from '../core/product/check-model.ts';
import { judge } from '../core/product/finding.ts';
import { deriveSlots } from '../core/product/slot.ts';
import { fillSlotDefaults } from '../core/product/slot-defaults.ts';
import { listScheduleFindings } from '../core/schedule/list-schedule-findings.ts';
import { checkSchedule, listUsedFinishes } from '../core/schedule/schedule.ts';
import { createModels } from '../gltf/create-models.ts';
import { WORKERS } from '../root.ts';
import { openSource } from './open-source.ts';
import { readArguments } from './read-arguments.ts';
import { readFinishes } from './read-finishes.ts';
import { readProduct } from './read-product.ts';
import { readSchedule } from './read-schedule.ts';
import { printFindings } from './survey.ts';

const OPTIONS = {
  finishes: { type: 'string', needed: true },
  schedule: { type: 'string', needed: true },
  output: { type: 'string', short: 'o', needed: true },
  names: { type: 'string' },
} as const;

/** `dyeworks deliver model.glb --finishes … --schedule … -o out.glb`: 0 when written, 1 when findings block. */
export async function deliverCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, ['a model'], OPTIONS);
  const names = options.names ?? 'name';
  if (names !== 'name' && names !== 'code') throw new ConfigError(`--names takes name or code, not “${names}”.`);
  const library = await readFinishes(String(options.finishes));
  const given = await readSchedule(String(options.schedule));
  const targetPath = resolve(String(options.output));
  const models = createModels(WORKERS.models);
  const source = await openSource(models, files[0]!).catch(async (error: unknown) => {
    await models.close();
    throw error;
  });
  try {
    const columns = new Set(given.variants.flatMap((variant) => Object.keys(variant.choices)));
    // a slot the schedule has no column for keeps what the model came with
    const slots = fillSlotDefaults(deriveSlots(source.survey), source.survey).map((slot) => ({
      ...slot,
      fixed: !columns.has(slot.slot),
    }));
    const schedule = checkSchedule(
      given,
      slots.map((slot) => ({ ...slot, fixed: false })),
      library.finishes,
    );
    const product = readProduct({});
    const findings = [
      ...checkModel({ ...source, product, slots, budget: findBudget(product.budget)! }),
      ...listScheduleFindings(schedule, slots, null, library.finishes),
    ];
    if (judge(findings) === 'blocked') {
      printFindings(findings);
      return 1;
    }
    const plan = planMappings(source.survey, slots, schedule, names);
    const used = new Set(listUsedFinishes(schedule).map(foldCode));
    const finishes = new Map([...library.resolved].filter(([key]) => used.has(key)));
    // beside the file and renamed over it only when it is whole and checked: an earlier one is not lost
    const partPath = `${targetPath}.part`;
    const { images } = source.survey;
    const { readMap } = library;
    const request = { sourcePath: source.path, targetPath: partPath, images, plan, finishes, readMap };
    const { written, checks } = await writeChecked(models, request).catch(async (error: unknown) => {
      await rm(partPath, { force: true });
      throw error;
    });
    await rename(partPath, targetPath);
    printFindings([...findings, ...written.findings]);
    for (const { check, passed, detail } of checks)
      console.log(`  ${passed ? 'passed' : 'as the model arrived'}  ${check}: ${detail}`);
    console.log(`${targetPath}: ${plan.variants.length} variants, ${written.bytes} bytes, sha256 ${written.sha256}`);
    return 0;
  } finally {
    await source.close();
    await models.close();
  }
}
