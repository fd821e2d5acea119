import { createReadStream, rmSync } from 'node:fs';
import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, extname, join } from 'node:path';
import { type Static, Type } from 'typebox';
import type { Context } from '../actions/context.ts';
import { putLine } from '../actions/edit-line.ts';
import { putPreparation } from '../actions/edit-preparation.ts';
import { addProduct, changeSlot } from '../actions/edit-product.ts';
import { putSchedule } from '../actions/edit-schedule.ts';
import { receiveModel } from '../actions/receive-model.ts';
import { workFor } from '../actions/turns.ts';
import { ConfigError, readConfig } from '../config.ts';
import { toCode } from '../core/codes.ts';
import { LineBody } from '../http/contracts/line.ts';
import { ProductChange, SlotChangeBody } from '../http/contracts/product.ts';
import { Code, recordOf, strict } from '../http/contracts/schema-parts.ts';
import { closeThreads, openContext, openEngines } from '../open-context.ts';
import { readMediaType } from './open-model.ts';
import { checkForm, readJsonFile, readSchedule, readSteps } from './read-files.ts';
import { storeFinishes } from './read-finishes.ts';
import { FILE_TEXTS } from './texts.ts';
import { runWhenever, STOP_SIGNALS } from './watch.ts';

// Commands that make what a product needs work as the service does, on a store of their own: a temporary folder that is filled
// from files through the service's actions, and deleted at the end.

export type Env = Readonly<Record<string, string | undefined>>;

/** What a command has of its surroundings. */
export interface Surroundings {
  readonly env: Env;
  /** Ends a watch. */
  readonly signal: AbortSignal;
  /** Prints what a run of a watch throws. */
  readonly report: (error: unknown) => void;
}

/** Works on an empty store. Afterwards, and when a signal ends the process, the store is deleted. */
export async function withWorkshop<T>(env: Env, work: (context: Context) => Promise<T>): Promise<T> {
  const folder = await mkdtemp(join(tmpdir(), 'dyeworks-'));
  const leave = () => {
    rmSync(folder, { recursive: true, force: true });
    process.exit(130);
  };
  for (const signal of STOP_SIGNALS) process.once(signal, leave);
  try {
    const config = readConfig({ ...env, DYEWORKS_HOST: undefined, DYEWORKS_DATA: folder });
    const engines = openEngines(config);
    try {
      const { context, db } = await openContext(config, engines);
      try {
        return await workFor({ rank: 'person', name: 'command' }, () => work(context));
      } finally {
        await db.destroy();
      }
    } finally {
      await engines.renderer.close();
      await closeThreads(engines);
    }
  } finally {
    for (const signal of STOP_SIGNALS) process.off(signal, leave);
    await rm(folder, { recursive: true, force: true });
  }
}

/** Options of the commands that work on a product. */
export const WORK_OPTIONS = {
  finishes: { type: 'string', required: true },
  schedule: { type: 'string', required: true },
  product: { type: 'string' },
  preparation: { type: 'string' },
  json: { type: 'boolean' },
  watch: { type: 'boolean' },
} as const;

type WorkOptions = Partial<Record<keyof typeof WORK_OPTIONS, string | boolean>>;

/**
 * Works on a product that is read from files. With `--watch` again whenever one of the files changes.
 * @param work gets the product's code, and returns an exit status
 */
export function workOnProduct(
  modelPath: string,
  options: WorkOptions,
  { env, ...watch }: Surroundings,
  work: (context: Context, code: string) => Promise<number>,
): Promise<number> {
  const run = () =>
    withWorkshop(env, async (context) => work(context, await storeProduct(context, modelPath, options)));
  if (!options.watch) return run();
  const named = (['finishes', 'schedule', 'product', 'preparation'] as const).flatMap((name) => options[name] ?? []);
  return runWhenever([modelPath, ...named.map(String)], run, watch);
}

/** What a product is, beside its model and schedule. Every field may be left out. */
const ProductFile = Type.Object(
  {
    code: Type.Optional(Code),
    ...ProductChange.properties,
    line: Type.Optional(Type.Object({ code: Code, ...LineBody.properties }, strict)),
    slots: Type.Optional(recordOf('^[a-z0-9-]{1,64}$', SlotChangeBody, 1000)),
  },
  strict,
);
type ProductFile = Static<typeof ProductFile>;

/**
 * Stores a product from files: finishes, line, preparation, model, slots and schedule, in the order in which a person does it.
 * A slot that neither the schedule nor the file of the product names keeps the model's own material.
 * @returns the product's code
 * @throws ConfigError for a file of a wrong form, Problem for values that the service refuses
 */
async function storeProduct(context: Context, modelPath: string, options: WorkOptions): Promise<string> {
  const mediaType = readMediaType(modelPath);
  const given = await readProductFile(options.product);
  const schedule = await readSchedule(String(options.schedule));
  const steps = options.preparation === undefined ? [] : await readSteps(String(options.preparation));
  await storeFinishes(context, String(options.finishes));
  const { code = nameCode(modelPath), name = code, line, slots = {}, ...rest } = given;
  if (line) {
    const { code: lineCode, ...fields } = line;
    await putLine(context, lineCode, fields);
  }
  await addProduct(context, code, { ...rest, name, line: line?.code ?? null });
  if (steps.length > 0) await putPreparation(context, code, steps);
  const { size } = await stat(modelPath).catch((error: Error) => {
    throw new ConfigError(FILE_TEXTS.unreadable(modelPath, error.message));
  });
  const received = await receiveModel(context, code, mediaType, createReadStream(modelPath), { limitBytes: size });
  const chosen = new Set(schedule.variants.flatMap((variant) => Object.keys(variant.choices)));
  for (const { slot } of received.slots) {
    if (!chosen.has(slot) && !(slot in slots)) await changeSlot(context, code, slot, { fixed: true });
  }
  for (const [slot, change] of Object.entries(slots)) await changeSlot(context, code, slot, change);
  await putSchedule(context, code, schedule, null);
  return code;
}

/** The name of a model's file as a code, or `model` where nothing of it fits one. */
function nameCode(path: string): string {
  return toCode(basename(path, extname(path))) || 'model';
}

async function readProductFile(path: string | boolean | undefined): Promise<ProductFile> {
  if (path === undefined) return {};
  const data = await readJsonFile(String(path));
  checkForm(ProductFile, data, String(path));
  return data as ProductFile;
}
