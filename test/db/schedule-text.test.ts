import { createHash } from 'node:crypto';
import { expect, it, vi } from 'vitest';
import {
  readManifestText,
  readScheduleText,
  writeManifestText,
  writeScheduleText,
} from '../../db/stores/schedule-text.ts';
import type { DeliveryManifest } from '../../server/core/delivery/delivery.ts';
import type { Schedule } from '../../server/core/schedule/schedule.ts';

/** Names that look like the text between two rows. */
const ODD = ['},{"code":"V7', '"variants":[', ']}', '\\"},{\\"code\\":\\"', '\u2028ä'];

const makeSchedule = (rows: number): Schedule => ({
  default: 'V0',
  variants: Array.from({ length: rows }, (_, i) => ({
    code: `V${i}`,
    name: `${ODD[i % ODD.length]} ${i}`,
    choices: i % 3 === 0 ? {} : JSON.parse(`{"seat":"OAK","__proto__":"OAK","l":"F${i}"}`),
    ...(i % 4 === 0 && { gtin: String(i).padStart(14, '0') }),
  })),
});

it.each([0, 1, 2, 1499, 1500])('a schedule of %i rows has the text and the tag that it has in one go', async (rows) => {
  for (const template of [undefined, { name: '],"template":{"{seat}"}]}', code: ']}' }]) {
    const schedule: Schedule = { ...makeSchedule(rows), ...(template && { template }) };
    const data = JSON.stringify(schedule);
    expect(await writeScheduleText(schedule)).toEqual({ data, tag: createHash('sha256').update(data).digest('hex') });
    for (const atOnce of [1, 100, 10_000]) {
      const read = await readScheduleText(data, atOnce);
      expect(JSON.stringify(read)).toBe(data);
    }
  }
});

it('a manifest has the text that it has in one go, and is read from its parts', async () => {
  const manifest = {
    format: 'dyeworks-manifest/1',
    program: 'a program',
    product: 'A',
    productName: '"delivery":0,"variants":[] ],"finishes":[',
    delivery: 17,
    default: 'V0',
    variants: makeSchedule(1499).variants,
    finishes: [{ finish: 'OAK' }],
    findings: [{ seen: { a: [1], finishes: [] } }],
  } as unknown as DeliveryManifest;
  const data = JSON.stringify(manifest);
  const { delivery: _, ...numberless } = manifest;
  for (const given of [manifest, numberless]) {
    const { beforeNumber, afterNumber } = await writeManifestText(given);
    expect(`${beforeNumber}17${afterNumber}`).toBe(data);
  }
  for (const atOnce of [1, 100, 10_000]) expect(JSON.stringify(await readManifestText(data, atOnce))).toBe(data);
});

it('a text that is written in another way is read too', async () => {
  const schedule = makeSchedule(20);
  for (const data of [
    JSON.stringify(schedule, null, 1),
    JSON.stringify({ variants: schedule.variants, default: 'V0' }),
  ]) {
    expect(await readScheduleText(data, 1)).toEqual(schedule);
  }
});

it.each([{}, { template: { name: '{seat}' } }])(
  'a long text is parsed and written in many parts, with %j',
  async (more) => {
    const schedule = { ...makeSchedule(20_000), ...more };
    const write = vi.spyOn(JSON, 'stringify');
    const { data } = await writeScheduleText(schedule);
    const longest = Math.max(...write.mock.results.map(({ value }) => (value as string).length));
    write.mockRestore();
    expect(longest).toBeLessThan(data.length / 30);
    const parse = vi.spyOn(JSON, 'parse');
    await readScheduleText(data);
    const most = Math.max(...parse.mock.calls.map(([text]) => text.length));
    parse.mockRestore();
    expect(most).toBeLessThan(80_000);
  },
);
