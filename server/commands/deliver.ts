import { readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { parse } from 'csv-parse/sync';
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
import { checkSchedule, listUsedFinishes, type Schedule } from '../core/schedule/schedule.ts';
import { readArguments, readChoice, readProduct } from './arguments.ts';
import { withModel } from './open-model.ts';
import { readFinishes } from './read-finishes.ts';
import { replaceFile } from './replace-file.ts';
import { FILE_TEXTS, formatFindings, INPUTS, RESULT_TEXTS } from './texts.ts';

const OPTIONS = {
  finishes: { type: 'string', required: true },
  schedule: { type: 'string', required: true },
  output: { type: 'string', short: 'o', required: true },
  names: { type: 'string' },
} as const;

/** `dyeworks deliver model.glb --finishes … --schedule … -o out.glb`: 0 when written, 1 when findings block. */
export async function deliverCommand(args: readonly string[]): Promise<number> {
  const { files, options } = readArguments(args, [INPUTS.model], OPTIONS);
  const names = readChoice('names', options.names, ['name', 'code']) ?? 'name';
  const { readMap, ...library } = await readFinishes(String(options.finishes));
  const given = await readSchedule(String(options.schedule));
  const targetPath = resolve(String(options.output));
  return withModel(files[0]!, async (source, models) => {
    const columns = new Set(given.variants.flatMap((variant) => Object.keys(variant.choices)));
    const derived = fillSlotDefaults(deriveSlots(source.survey), source.survey);
    // a slot without a column in the schedule keeps the model's own material
    const slots = derived.map((slot) => ({ ...slot, fixed: !columns.has(slot.slot) }));
    const schedule = checkSchedule(
      given,
      derived.map((slot) => ({ ...slot, fixed: false })),
      library.finishes,
    );
    const product = readProduct({});
    const findings = [
      ...checkModel({ ...source, product, slots, budget: findBudget(product.budget)! }),
      ...listScheduleFindings(schedule, slots, null, library.finishes),
    ];
    if (judge(findings) === 'blocked') {
      for (const line of formatFindings(findings)) console.log(line);
      return 1;
    }
    const plan = planMappings(source.survey, slots, schedule, names);
    const used = new Set(listUsedFinishes(schedule).map(foldCode));
    const finishes = new Map([...library.resolved].filter(([key]) => used.has(key)));
    const { images } = source.survey;
    const { written, checks } = await replaceFile(targetPath, (partPath) =>
      writeChecked(models, { sourcePath: source.path, targetPath: partPath, images, plan, finishes, readMap }),
    );
    for (const line of formatFindings([...findings, ...written.findings])) console.log(line);
    for (const { check, passed, detail } of checks) console.log(RESULT_TEXTS.check(passed, check, detail));
    console.log(RESULT_TEXTS.delivered(targetPath, plan.variants.length, written.bytes, written.sha256));
    return 0;
  });
}

/**
 * Reads a schedule from CSV: a header `code,name,SLOT,SLOT …`, one row per variant, a finish code (or nothing) in each
 * cell. The first row is the default.
 * @throws ConfigError
 */
async function readSchedule(path: string): Promise<Schedule> {
  let rows: string[][];
  try {
    rows = parse(await readFile(path), { bom: true, skip_empty_lines: true, trim: true });
  } catch (error) {
    throw new ConfigError(FILE_TEXTS.unreadable(path, (error as Error).message));
  }
  const [header, ...body] = rows;
  if (header?.[0] !== 'code' || header[1] !== 'name' || body.length === 0) {
    throw new ConfigError(FILE_TEXTS.wrongSchedule(path));
  }
  const slots = header.slice(2);
  const variants = body.map(([code, name, ...cells]) => ({
    code: code!,
    name: name!,
    choices: Object.fromEntries(slots.flatMap((slot, i) => (cells[i] ? [[slot, cells[i]]] : []))),
  }));
  return { default: variants[0]!.code, variants };
}
