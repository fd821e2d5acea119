import { readFile } from 'node:fs/promises';
import { extname } from 'node:path';
import { Ajv } from 'ajv';
import { parse } from 'csv-parse/sync';
import { ConfigError } from '../config.ts';
import { readRepairs } from '../core/repair/read-repairs.ts';
import type { Repair } from '../core/repair/repair.ts';
import { ScheduleBody } from '../http/contracts/schedule.ts';
import { FILE_TEXTS } from './texts.ts';

/** @throws ConfigError for a file that cannot be read, or is no JSON */
export async function readJsonFile(path: string): Promise<unknown> {
  const text = await readFile(path, 'utf8').catch((error: Error) => {
    throw new ConfigError(FILE_TEXTS.unreadable(path, error.message));
  });
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new ConfigError(FILE_TEXTS.notJson(path, (error as Error).message));
  }
}

const compiled = new Map<object, ReturnType<Ajv['compile']>>();

/**
 * Checks the form of a value against a schema of the API.
 * @param where the place of the value, for the message
 * @throws ConfigError with the first fault
 */
export function checkForm(contract: object, value: unknown, where: string): void {
  const validate = compiled.get(contract) ?? new Ajv({ allowUnionTypes: true }).compile(contract);
  compiled.set(contract, validate);
  if (validate(value)) return;
  const { instancePath, message, params } = validate.errors![0]!;
  throw new ConfigError(FILE_TEXTS.wrongForm(where + instancePath, message, params.additionalProperty));
}

/**
 * Reads a list of repairs, or a preparation as the API serves it: `{"steps": […]}`.
 * @throws ConfigError, or Problem for a repair of a wrong form
 */
export async function readSteps(path: string): Promise<Repair[]> {
  const data = await readJsonFile(path);
  const wrapped = typeof data === 'object' && data !== null && 'steps' in data;
  return wrapped ? readRepairs(data.steps, '/steps') : readRepairs(data);
}

/**
 * Reads a schedule: JSON in the form of the API, or CSV with a header `code,name,SLOT,SLOT …` and one row per variant, with a
 * finish code or nothing in each cell. A column `gtin` holds the numbers of variants. The first row is the default.
 * @throws ConfigError
 */
export async function readSchedule(path: string): Promise<ScheduleBody> {
  if (extname(path).toLowerCase() === '.json') {
    const data = await readJsonFile(path);
    checkForm(ScheduleBody, data, path);
    return data as ScheduleBody;
  }
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
  const columns = header.slice(2);
  const variants = body.map(([code, name, ...cells]) => {
    const filled = columns.flatMap((column, at) => (cells[at] ? [[column, cells[at]] as const] : []));
    const gtin = filled.find(([column]) => column === 'gtin')?.[1];
    const choices = Object.fromEntries(filled.filter(([column]) => column !== 'gtin'));
    return { code: code!, name: name!, choices, ...(gtin !== undefined && { gtin }) };
  });
  return { default: variants[0]!.code, variants };
}
