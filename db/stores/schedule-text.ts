import { createHash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import type { Schedule, Variant } from '../../server/core/schedule/schedule.ts';

// Schedules as they are stored: the JSON of the whole. Long ones are written and read in parts, with turns of the event loop in
// between: twenty thousand rows in one go would hold up all other calls for a tenth of a second.

/** Rows that are written in one go. */
const ROWS_AT_ONCE = 500;
/** Characters that are read in one go, at least. */
const READ_AT_ONCE = 64 * 1024;

const BEFORE = '"variants":[';
/** Between two rows. A text in a row never contains it, since JSON marks the quotes of texts. */
const BETWEEN = '},{"code":"';

/** The tag is the digest of the text. */
export async function writeScheduleText(schedule: Schedule): Promise<{ readonly data: string; readonly tag: string }> {
  const { variants } = schedule;
  const hash = createHash('sha256');
  let data = '';
  const add = (part: string) => {
    hash.update(part);
    data += part;
  };
  add(`${JSON.stringify({ default: schedule.default }).slice(0, -1)},${BEFORE}`);
  for (let from = 0; from < variants.length; from += ROWS_AT_ONCE) {
    if (from > 0) await setImmediate();
    const part = JSON.stringify(variants.slice(from, from + ROWS_AT_ONCE)).slice(1, -1);
    add(from > 0 ? `,${part}` : part);
  }
  add(']}');
  return { data, tag: hash.digest('hex') };
}

/** @param atOnce see `READ_AT_ONCE`; for tests */
export async function readScheduleText(data: string, atOnce = READ_AT_ONCE): Promise<Schedule> {
  const start = data.indexOf(BEFORE) + BEFORE.length;
  if (data.length <= atOnce || start < BEFORE.length || !data.endsWith(']}')) return JSON.parse(data) as Schedule;
  const variants: Variant[] = [];
  const end = data.length - 2;
  for (let from = start; from < end; ) {
    if (from > start) await setImmediate();
    const between = data.indexOf(BETWEEN, from + atOnce);
    const to = between < 0 ? end : between + 1;
    variants.push(...(JSON.parse(`[${data.slice(from, to)}]`) as Variant[]));
    from = to + 1;
  }
  return { ...(JSON.parse(`${data.slice(0, start)}]}`) as Schedule), variants };
}
