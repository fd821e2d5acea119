import { readFile } from 'node:fs/promises';
import { parse } from 'csv-parse/sync';
import { ConfigError } from '../config.ts';
import type { Schedule } from '../core/schedule/schedule.ts';

/**
 * Reads a schedule from CSV: a header `code,name,SLOT,SLOT …`, one row per variant, a finish code (or nothing) in each
 * cell. The first row is the default.
 * @throws ConfigError
 */
export async function readSchedule(path: string): Promise<Schedule> {
  let rows: string[][];
  try {
    rows = parse(await readFile(path), { bom: true, skip_empty_lines: true, trim: true });
  } catch (error) {
    throw new ConfigError(`${path} cannot be read: ${(error as Error).message}`);
  }
  const [header, ...body] = rows;
  if (header?.[0] !== 'code' || header[1] !== 'name' || body.length === 0) {
    throw new ConfigError(`${path} should begin with “code,name,” and the slots, and have at least one row.`);
  }
  const slots = header.slice(2);
  const variants = body.map(([code, name, ...cells]) => ({
    code: code!,
    name: name!,
    choices: Object.fromEntries(slots.flatMap((slot, i) => (cells[i] ? [[slot, cells[i]]] : []))),
  }));
  return { default: variants[0]!.code, variants };
}
