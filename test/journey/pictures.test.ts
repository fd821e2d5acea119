import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { readEvents } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// Pictures and swatches by URL, on a real model: @webxr-input-profiles/assets 1.0.20 (MIT), oculus-go.

let service: TestService;
let folder: string;
const variants = ['OAK-1', 'TARN.3', 'COAL_4'].map((finish, row) => ({
  code: `V.${row}`,
  name: `Variant ${row} in ${finish}`,
  choices: {} as Record<string, string>,
}));

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-test-'));
  service = await startService({}, folder);
  await putLineOfFinishes(service);
  const slots = await addProduct(service, 'GO', readRegistryModel('oculus-go/none.glb'));
  for (const [row, finish] of ['OAK-1', 'TARN.3', 'COAL_4'].entries()) {
    variants[row]!.choices = Object.fromEntries(slots.map((slot) => [slot, finish]));
  }
  expect((await service.call('PUT', '/api/products/GO/schedule', { default: 'V.0', variants })).status).toBe(200);
});
afterAll(async () => {
  await service.close();
  await rm(folder, { recursive: true, force: true });
});

describe('a picture', () => {
  it.each(['png', 'webp', 'jpg'] as const)(
    'of a variant is available as %s, with its media type, in the requested size',
    async (format) => {
      const { status, headers, body } = await service.call(
        'GET',
        `/api/products/GO/pictures/V.1.${format}?width=200&height=120`,
      );
      expect(status).toBe(200);
      expect(headers.get('content-type')).toBe({ png: 'image/png', webp: 'image/webp', jpg: 'image/jpeg' }[format]);
      expect(headers.get('x-content-type-options')).toBe('nosniff');
      const { width, height, hasAlpha } = await sharp(body).metadata();
      expect([width, height, hasAlpha]).toEqual([200, 120, format !== 'jpg']);
    },
  );

  it('is rendered once and then found again, byte for byte', async () => {
    const path = '/api/products/GO/pictures/V.2.png?size=96';
    const [first, burst] = await Promise.all([service.call('GET', path), service.call('GET', path)]);
    const again = await service.call('GET', path);
    expect(first.headers.get('picture-source')).toBe('composed');
    expect(again.headers.get('picture-source')).toBe('stored');
    expect(Buffer.from(again.body)).toEqual(Buffer.from(first.body));
    expect(Buffer.from(burst.body)).toEqual(Buffer.from(first.body));
    const known = await service.call('GET', path, undefined, { 'if-none-match': first.headers.get('etag')! });
    expect(known.status).toBe(304);
  });

  it('shows the finish: another finish gives another picture, the same combination by choice the same one', async () => {
    const colours = await Promise.all(
      ['V.0', 'V.1', 'V.2'].map(async (code) =>
        meanColour((await service.call('GET', `/api/products/GO/pictures/${code}.png?size=96`)).body),
      ),
    );
    // oak is warm, tarn blue is cold, coal is dark
    expect(colours[0]![0]).toBeGreaterThan(colours[0]![2] + 20);
    expect(colours[1]![2]).toBeGreaterThan(colours[1]![0] + 10);
    expect(Math.max(...colours[2]!)).toBeLessThan(Math.min(...colours[0]!));
    const choice = Object.entries(variants[1]!.choices)
      .map(([slot, finish]) => `choice=${slot}:${finish}`)
      .join('&');
    const chosen = await service.call('GET', `/api/products/GO/picture.png?size=96&${choice}`);
    expect(chosen.headers.get('picture-source')).toBe('stored');
  });

  it.each([
    ['/api/products/GO/pictures/NONE.png', 404, 'unknown-variant'],
    ['/api/products/GO/pictures/V.1.gif', 404, 'not-found'],
    ['/api/products/GO/pictures/V.1.png?size=31', 400, 'invalid-field'],
    ['/api/products/GO/pictures/V.1.png?size=4097', 400, 'invalid-field'],
    ['/api/products/GO/pictures/V.1.png?view=below', 400, 'invalid-field'],
    ['/api/products/GO/pictures/V.1.png?colour=red', 400, 'unknown-field'],
    ['/api/products/GO/picture.png?choice=nowhere:OAK-1', 422, 'unknown-slot'],
    ['/api/products/NONE/picture.png', 404, 'unknown-product'],
    ['/api/finishes/NONE/swatch.png', 404, 'unknown-finish-code'],
    ['/api/finishes/OAK-1/swatch.png?kind=sphere&widthMm=100', 400, 'swatch-kind'],
    ['/api/finishes/OAK-1/swatch.png?kind=panel&widthMm=19', 400, 'invalid-field'],
  ])('%s is answered %i %s', async (path, status, code) => {
    const answer = await service.call('GET', path);
    expect([answer.status, answer.body.code]).toEqual([status, code]);
  });
});

describe('a swatch', () => {
  it.each(['png', 'webp'] as const)('chip in %s is the exact colour in every pixel', async (format) => {
    const { body } = await service.call('GET', `/api/finishes/TARN.3/swatch.${format}?kind=chip&size=64`);
    const { data } = await sharp(body).removeAlpha().raw().toBuffer({ resolveWithObject: true });
    const wrong = data.findIndex((value, i) => value !== [0x2f, 0x5d, 0x73][i % 3]);
    expect(wrong).toBe(-1);
  });

  it('sphere shows the finish, and changes when the finish does', async () => {
    const path = '/api/finishes/TARN.3/swatch.png?size=64';
    const before = meanColour((await service.call('GET', path)).body);
    expect((await before)[2]).toBeGreaterThan((await before)[0]);
    const red = { name: 'Tarn red', family: 'powder-coat', colour: { hex: '#a02020' } };
    expect((await service.call('PUT', '/api/finishes/TARN.3', red)).status).toBe(200);
    const after = await meanColour((await service.call('GET', path)).body);
    expect(after[0]).toBeGreaterThan(after[2] + 40);
    const { status } = await service.call('PUT', '/api/finishes/TARN.3', {
      ...red,
      name: 'Tarn blue',
      colour: { hex: '#2f5d73' },
    });
    expect(status).toBe(200);
  });
});

describe('a job', () => {
  it('makes all pictures of the schedule and reports its progress', async () => {
    const made = await service.call('POST', '/api/products/GO/pictures', { sizes: [40], formats: ['webp', 'jpg'] });
    expect(made.status).toBe(202);
    expect(made.body).toMatchObject({ total: 6, product: 'GO' });
    const states = (await readEvents(service, made.body.id)).map(({ data }) => data);
    const last = states.at(-1)!;
    expect(last).toMatchObject({ state: 'done', done: 6, total: 6, failures: [] });
    const counts = states.map(({ done }) => done);
    expect(counts).toEqual([...counts].sort((a, b) => a - b));
    const found = await service.call('GET', '/api/products/GO/pictures/V.2.webp?size=40');
    expect(found.headers.get('picture-source')).toBe('stored');
  });

  it('continues after a restart where it stopped, and can be cancelled', async () => {
    const made = await service.call('POST', '/api/products/GO/pictures', { sizes: [48, 56], views: ['front', 'side'] });
    const doomed = await service.call('POST', '/api/products/GO/pictures', { sizes: [64] });
    expect((await service.call('DELETE', `/api/jobs/${doomed.body.id}`)).body.state).toBe('cancelled');
    await service.close();
    service = await startService({}, folder);
    const states = (await readEvents(service, made.body.id)).map(({ data }) => data);
    expect(states.at(-1)).toMatchObject({ state: 'done', done: 12, total: 12, failures: [] });
    expect((await service.call('GET', `/api/jobs/${doomed.body.id}`)).body.state).toBe('cancelled');
    expect((await service.call('GET', '/api/jobs/none')).body.code).toBe('unknown-job');
  });
});

/** Mean of the opaque pixels. */
async function meanColour(image: Uint8Array): Promise<[number, number, number]> {
  const { data } = await sharp(image).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  const sum = [0, 0, 0];
  let count = 0;
  for (let i = 0; i < data.length; i += 4) {
    if (data[i + 3] !== 255) continue;
    count++;
    for (let c = 0; c < 3; c++) sum[c]! += data[i + c]!;
  }
  return sum.map((value) => value / count) as [number, number, number];
}
