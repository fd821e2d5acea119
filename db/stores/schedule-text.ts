import { createHash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import type { DeliveryManifest } from '../../server/core/delivery/delivery.ts';
import type { WrittenManifest } from '../../server/core/ports/stores.ts';
import type { Schedule, Variant } from '../../server/core/schedule/schedule.ts';

// Schedules and manifests as they are stored: the JSON of the whole. Long ones are written and read in parts, with turns of the
// event loop in between: twenty thousand rows in one go would hold up all other calls for a tenth of a second.

/** Rows that are written in one go. */
const ROWS_AT_ONCE = 500;
/** Characters that are read in one go, at least. */
const READ_AT_ONCE = 64 * 1024;

const BEFORE = '"variants":[';
/** Between two rows. A text in a row never contains it, since JSON marks the quotes of texts. */
const BETWEEN = '},{"code":"';
/** After the rows of a schedule with a template, and of a manifest. No row has it either. */
const AFTER_IN_SCHEDULE = '],"template":{';
const AFTER_IN_MANIFEST = '],"finishes":[';

/** The tag is the digest of the text. */
export async function writeScheduleText(schedule: Schedule): Promise<{ readonly data: string; readonly tag: string }> {
  const hash = createHash('sha256');
  const data = await writeRows(schedule, (part) => void hash.update(part));
  return { data, tag: hash.digest('hex') };
}

/** What a manifest without a number has in its place. No text has it, since JSON marks the quotes of texts. */
const NUMBER = '"delivery":0,';

/** The text of a manifest that gets its number later. */
export async function writeManifestText(manifest: Omit<DeliveryManifest, 'delivery'>): Promise<WrittenManifest> {
  const { format, program, product, productName, delivery: _, ...rest } = manifest as DeliveryManifest;
  const text = await writeRows({ format, program, product, productName, delivery: 0, ...rest }, () => {});
  const at = text.indexOf(NUMBER) + NUMBER.length;
  return { manifest, beforeNumber: text.slice(0, at - '0,'.length), afterNumber: text.slice(at - ','.length) };
}

/** The same as `JSON.stringify`. */
async function writeRows<Whole extends { readonly variants: readonly Variant[] }>(
  whole: Whole,
  note: (part: string) => void,
): Promise<string> {
  const { variants } = whole;
  const around = JSON.stringify({ ...whole, variants: [] });
  const at = around.indexOf(BEFORE) + BEFORE.length;
  let data = '';
  const add = (part: string) => {
    note(part);
    data += part;
  };
  add(around.slice(0, at));
  for (let from = 0; from < variants.length; from += ROWS_AT_ONCE) {
    if (from > 0) await setImmediate();
    const part = JSON.stringify(variants.slice(from, from + ROWS_AT_ONCE)).slice(1, -1);
    add(from > 0 ? `,${part}` : part);
  }
  add(around.slice(at));
  return data;
}

/** @param atOnce see `READ_AT_ONCE`; for tests */
export function readScheduleText(data: string, atOnce = READ_AT_ONCE): Promise<Schedule> {
  const end = data.endsWith(']}') ? data.length - 2 : data.lastIndexOf(AFTER_IN_SCHEDULE);
  return readRows<Schedule>(data, end, atOnce);
}

/** @param atOnce see `READ_AT_ONCE`; for tests */
export function readManifestText(data: string, atOnce = READ_AT_ONCE): Promise<DeliveryManifest> {
  return readRows<DeliveryManifest>(data, data.indexOf(AFTER_IN_MANIFEST, data.indexOf(BEFORE)), atOnce);
}

/** @param end where the rows end; negative if that is not known, as in a text that another program wrote */
async function readRows<Whole extends { readonly variants: readonly Variant[] }>(
  data: string,
  end: number,
  atOnce: number,
): Promise<Whole> {
  const start = data.indexOf(BEFORE) + BEFORE.length;
  if (data.length <= atOnce || start < BEFORE.length || end < start) return JSON.parse(data) as Whole;
  const variants: Variant[] = [];
  for (let from = start; from < end; ) {
    if (from > start) await setImmediate();
    const between = data.indexOf(BETWEEN, from + atOnce);
    const to = between < 0 || between > end ? end : between + 1;
    variants.push(...(JSON.parse(`[${data.slice(from, to)}]`) as Variant[]));
    from = to + 1;
  }
  return { ...(JSON.parse(data.slice(0, start) + data.slice(end)) as Whole), variants };
}
