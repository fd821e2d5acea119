import { parse } from 'csv-parse/sync';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readZip } from '../support/read-zip.ts';
import { startService, type TestService } from '../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});
afterAll(() => service.close());

it('one zip has the schedule, its finishes with their true figures, their swatches and every variant', async () => {
  const { body: schedule } = await service.call('GET', '/api/products/QM-L46/schedule');
  const kept = { ...schedule, variants: schedule.variants.slice(0, 2), findings: undefined };
  await service.call('PUT', '/api/products/QM-L46/schedule', kept);
  const answer = await service.call('GET', '/api/products/QM-L46/catalogue.zip?size=64');
  expect([answer.status, answer.headers.get('content-type')]).toEqual([200, 'application/zip']);
  const files = await readZip(Buffer.from(answer.body));
  const used = [...new Set(kept.variants.flatMap(({ choices }: { choices: object }) => Object.values(choices)))];
  expect([...files.keys()].sort()).toEqual(
    [
      'schedule.csv',
      'finishes.csv',
      ...used.flatMap((code) => [`swatches/chip_${code}.png`, `swatches/sphere_${code}.png`]),
      ...kept.variants.map(({ code }: { code: string }) => `pictures/QM-L46_${code}.png`),
    ].sort(),
  );
  const rows = parse(files.get('finishes.csv')!, { columns: true }) as Record<string, string>[];
  for (const { code, hex, deltaE, ...row } of rows) {
    const { resolved, colour } = (await service.call('GET', `/api/finishes/${code}`)).body;
    // the colour in its original form, beside the sRGB and Lab it was converted to
    expect(row).toMatchObject(
      'hex' in colour
        ? { specifiedAs: 'hex', specified: colour.hex, illuminant: '', observer: '' }
        : { illuminant: colour.illuminant ?? '', observer: colour.observer ?? '', geometry: colour.geometry ?? '' },
    );
    expect(row.gu60From).toBe(resolved.gu60 === null ? '' : resolved.gloss?.angle === 60 ? 'reading' : 'computed');
    expect([hex, Number(deltaE)]).toEqual([resolved.hex, Number(resolved.chipDeltaE.toFixed(2))]);
    const { data } = await sharp(files.get(`swatches/chip_${code}.png`))
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect(`#${data.subarray(0, 3).toString('hex')}`).toBe(hex);
  }
  const { width } = await sharp(files.get(`pictures/QM-L46_${kept.default}.png`)).metadata();
  expect(width).toBe(64);
});

it.each([
  ['an unknown product', '/api/products/NONE/catalogue.zip', 404, 'unknown-product'],
  ['a size out of range', '/api/products/QM-L46/catalogue.zip?size=8', 400, 'invalid-field'],
])('is refused for %s', async (_, path, status, code) => {
  const answer = await service.call('GET', path);
  expect([answer.status, answer.body.code]).toEqual([status, code]);
});
