import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { SetPlanAnswer } from '../../server/http/contracts/picture-set.ts';
import { makeBoxes } from '../renderer/models.ts';
import { addProduct, putLineOfFinishes } from '../support/job.ts';
import { measureFileOutline } from '../support/measure-outline.ts';
import { readZip } from '../support/read-zip.ts';
import { waitForJob } from '../support/run-job.ts';
import { startService, type TestService } from '../support/start-service.ts';

// The built-in sets: the test reads their files back with sharp 0.35 (libvips). The requirements of shops (2048 px,
// white of 255, 75 to 90 % of the frame) and of print shops (216 × 303 mm at 300 ppi) are common practice.
// The product is two boxes of one material: the pictures have the full size for a shop or a printer, and the scene is
// minimal.

const base = '/api/products/BOXES/picture-sets';
let service: TestService;

beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
  const [slot] = await addProduct(service, 'BOXES', await makeBoxes([]));
  const variants = [{ code: 'V-01', name: 'In tarn blue', choices: { [slot!]: 'TARN.3' } }];
  const put = await service.call('PUT', '/api/products/BOXES/schedule', { default: 'V-01', variants });
  expect(put.status).toBe(200);
});
afterAll(() => service.close());

/** Runs a set and returns its files. */
async function make(set: string) {
  const { body: job } = await service.call('POST', `${base}/${set}`, {});
  expect(await waitForJob(service, job.id)).toMatchObject({ state: 'done', failures: [] });
  const plan: SetPlanAnswer = (await service.call('GET', `${base}/${set}`)).body;
  expect(plan.made).toBe(plan.total);
  const zip = await readZip(Buffer.from((await service.call('GET', `${base}/${set}.zip`)).body));
  return plan.files!.map((file) => ({ ...file, data: zip.get(file.name)! }));
}

/**
 * The share of the frame that the product fills, in percent of the width or the height, whichever is greater. Its
 * outline is taken from the same picture without shadow and ground, which has the same layers.
 */
async function measureFill(ready: string, trimPx: number): Promise<number[]> {
  const {
    code: _,
    ready: _r,
    replacesReady: _p,
    quality: _q,
    ...given
  } = (await service.call('GET', `/api/picture-sets/${ready}`)).body;
  const bare = { ...given, format: 'png', ground: 'transparent', shadow: 'without' };
  expect((await service.call('PUT', `/api/picture-sets/${ready}-bare`, bare)).status).toBe(201);
  const files = await make(`${ready}-bare`);
  return Promise.all(
    files.map(async ({ data }) => {
      const [{ width, height }, info] = await Promise.all([measureFileOutline(data), sharp(data).metadata()]);
      return 100 * Math.max(width / (info.width - 2 * trimPx), height / (info.height - 2 * trimPx));
    }),
  );
}

const cornersOf = async (data: Buffer) => {
  const { data: raw, info } = await sharp(data).raw().toBuffer({ resolveWithObject: true });
  const at = (x: number, y: number) => [...raw.subarray((y * info.width + x) * info.channels).subarray(0, 3)];
  return [at(0, 0), at(info.width - 1, 0), at(0, info.height - 1), at(info.width - 1, info.height - 1)];
};
/** The short values of a TIFF's first directory, by tag (TIFF 6.0 §2). */
function readShortTags(data: Buffer): Map<number, number> {
  expect(data.subarray(0, 4)).toEqual(Buffer.from('II*\0'));
  const at = data.readUInt32LE(4);
  const entries = Array.from({ length: data.readUInt16LE(at) }, (_, i) => at + 2 + i * 12);
  const short = entries.filter((entry) => data.readUInt16LE(entry + 2) === 3);
  return new Map(short.map((entry) => [data.readUInt16LE(entry), data.readUInt16LE(entry + 8)]));
}

const WHITE = [255, 255, 255];
/** An ICC profile has its signature at byte 36, and at 16 the colour space of its data (ICC.1:2022 §7.2). */
const profileOf = (icc: Buffer | undefined) => [16, 36].map((at) => icc?.subarray(at, at + 4).toString('latin1'));

/** Sixty million fragments per layer in software GL, on a machine with other users: a limit against hanging. */
const PATIENCE_MS = 600_000;

describe('the built-in set', { timeout: PATIENCE_MS }, () => {
  it('for shops: four views, 2048 px on white, the product neither too small nor at the edge', async () => {
    const files = await make('shop');
    expect(files.map(({ name }) => name)).toEqual([
      'BOXES_V-01_front_2048.jpg',
      'BOXES_V-01_three-quarter_2048.jpg',
      'BOXES_V-01_side_2048.jpg',
      'BOXES_V-01_back_2048.jpg',
    ]);
    for (const { data } of files) {
      const { format, width, height, icc, xmpAsString, chromaSubsampling } = await sharp(data).metadata();
      expect([format, width, height, chromaSubsampling]).toEqual(['jpeg', 2048, 2048, '4:4:4']);
      expect(profileOf(icc)).toEqual(['RGB ', 'acsp']);
      expect(xmpAsString).toContain('Tarn blue');
      expect(await cornersOf(data)).toEqual([WHITE, WHITE, WHITE, WHITE]);
    }
    for (const percent of await measureFill('shop', 0)) {
      expect(percent).toBeGreaterThanOrEqual(75);
      expect(percent).toBeLessThanOrEqual(90);
    }
  });

  it('for print: A4 with 3 mm of bleed at 300 ppi, as TIFF', async () => {
    const [file, ...more] = await make('print');
    expect(more).toEqual([]);
    expect(file).toMatchObject({ name: 'BOXES_V-01_three-quarter_2551x3579.tif', ppi: 300 });
    const { format, width, height, density, icc, xmpAsString } = await sharp(file!.data).metadata();
    expect([format, width, height, density]).toEqual(['tiff', 2551, 3579, 300]);
    // Deflate by Adobe's number, inches (TIFF 6.0 §8, Adobe Photoshop TIFF Technical Notes 2002)
    const tags = readShortTags(file!.data);
    expect([tags.get(259), tags.get(296)]).toEqual([8, 2]);
    expect(profileOf(icc)).toEqual(['RGB ', 'acsp']);
    expect(xmpAsString).toContain('Tarn blue (TARN.3)');
    expect(await cornersOf(file!.data)).toEqual([WHITE, WHITE, WHITE, WHITE]);
    const [percent] = await measureFill('print', 35);
    expect(percent).toBeGreaterThanOrEqual(75);
    expect(percent).toBeLessThanOrEqual(90);
  });

  it('of swatches: a chip and a sphere of every finish in use', async () => {
    const files = await make('swatches');
    expect(files.map(({ name }) => name)).toEqual(['TARN.3_chip_1024.png', 'TARN.3_sphere_1024.png']);
    const [chip, sphere] = await Promise.all(files.map(({ data }) => sharp(data).metadata()));
    expect([chip!.width, chip!.hasAlpha, sphere!.width, sphere!.hasAlpha]).toEqual([1024, false, 1024, true]);
    expect((await cornersOf(files[0]!.data))[0]).toEqual([0x2f, 0x5d, 0x73]);
  });
});
