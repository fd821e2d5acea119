import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { deltaE2000 } from '../../../../server/core/colour/lab.ts';
import { startService, type TestService } from '../../../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
  const put = (code: string, colour: object, more: object = {}) =>
    service.call('PUT', `/api/finishes/${code}`, { name: code, family: 'paint', colour, ...more });
  await put('TARN', { hex: '#2f5d73' }, { display: { hex: '#31617a' } });
  await put('TEN', { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '10deg' });
  await put('FLAKE', { hex: '#8a8d8f' }, { metal: true });
  await put('NEON', { lab: [60, 110, -60], illuminant: 'D65', observer: '2deg' });
});
afterAll(() => service.close());

const read = async (path: string) => (await service.call('GET', path)).body;

it('a chip is measured to be exactly its hex, and says how far that is from what was specified', async () => {
  const chip = await read('/api/finishes/tarn/swatch.json?kind=chip&size=64');
  expect(chip).toMatchObject({ finish: 'TARN', revision: 1, kind: 'chip', sizePx: 64 });
  expect(chip.measured).toMatchObject({ where: 'flat', hex: '#2f5d73' });
  expect(chip.specified).toMatchObject({
    illuminant: 'D65',
    observer: '2deg',
    hex: '#2f5d73',
    given: { hex: '#2f5d73' },
  });
  expect(chip.deltaE).toBe(0);
  expect(chip.tolerance).toMatchObject({ formula: 'ab', limit: 2, within: true });
  expect(chip.caution).toMatch(/physical sample/);
});

it('says why it differs: estimates, what sRGB has not, the light', async () => {
  const ten = await read('/api/finishes/TEN/swatch.json?kind=chip');
  expect(ten.notes.join(' ')).toMatch(/10° observer/);
  // L 38.1 under the 10° observer is what was given; what is stated is for 2°
  expect(ten.specified.given.observer).toBe('10deg');
  const tarn = await read('/api/finishes/TARN/swatch.json?kind=chip');
  expect(tarn.notes.join(' ')).toMatch(/approved screen colour/);
  const neon = await read('/api/finishes/NEON/swatch.json?kind=chip');
  expect(neon.notes.join(' ')).toMatch(/sRGB cannot show this colour/);
  expect(neon.deltaE).toBeGreaterThan(2);
  expect(neon.specified.hex).toBeNull();
  expect(neon.delivered.deltaE).toBe(neon.deltaE);
  expect(neon.tolerance.within).toBe(false);
});

it('a coat with metal in it has no limit, here and in the answer of the finish', async () => {
  const { tolerance } = await read('/api/finishes/FLAKE/swatch.json?kind=chip');
  expect(tolerance).toMatchObject({ formula: 'ab', limit: null, within: null, rests: 'standard' });
  expect((await read('/api/finishes/FLAKE')).resolved.tolerance).toEqual(tolerance);
});

it('a sphere is measured where it faces the viewer, in the very picture that is answered', async () => {
  const sphere = await read('/api/finishes/TARN/swatch.json?kind=sphere&size=128');
  const picture = await service.call('GET', sphere.picture);
  expect(picture.headers.get('picture-source')).toBe('stored');
  const { data } = await sharp(Buffer.from(picture.body))
    .extract({ left: 63, top: 63, width: 2, height: 2 })
    .removeAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  const measured = [1, 3, 5].map((at) => Number.parseInt(sphere.measured.hex.slice(at, at + 2), 16));
  for (let channel = 0; channel < 3; channel++) {
    const mean = [0, 3, 6, 9].reduce((sum, at) => sum + data[at + channel]!, 0) / 4;
    expect(Math.abs(mean - measured[channel]!)).toBeLessThan(3);
  }
  expect(sphere.deltaE).toBeCloseTo(deltaE2000(sphere.specified.lab, sphere.measured.lab), 2);
  expect(Math.round(sphere.deltaE * 100) / 100).toBe(sphere.deltaE);
  expect(sphere.notes.join(' ')).toMatch(/light of the studio/);
  // and how much of it comes from what: the steps add up to the whole, but for one decimal each
  const steps = sphere.notes.find((note: string) => note.startsWith('The distance in lightness'));
  const figures = [...steps.matchAll(/L\* ([+−])(\d+\.\d)/g)].map(
    ([, sign, size]) => Number(size) * (sign === '−' ? -1 : 1),
  );
  const sum = figures.reduce((total, figure) => total + figure, 0);
  expect(Math.abs(sum - (sphere.measured.lab[0] - sphere.delivered.lab[0]))).toBeLessThan(0.2);
  // read once, then kept
  expect(await read('/api/finishes/TARN/swatch.json?kind=sphere&size=128')).toEqual(sphere);
});

it.each([
  ['an unknown finish', '/api/finishes/NONE/swatch.json', 404, 'unknown-finish-code'],
  ['a size out of range', '/api/finishes/TARN/swatch.json?size=9', 400, 'invalid-field'],
])('is refused for %s', async (_, path, status, code) => {
  const answer = await service.call('GET', path);
  expect([answer.status, answer.body.code]).toEqual([status, code]);
});

it('a panel states its scale, and a weave that is too fine for it', async () => {
  await service.call('PUT', '/api/articles/linen', {
    name: 'Linen',
    family: 'textile',
    threadsPerCm: 10,
    tile: { widthMm: 80, heightMm: 80 },
    maps: { colour: await addGreyMap() },
  });
  const finish = { name: 'Linen', family: 'textile', article: 'linen', colour: { hex: '#5c6a76' } };
  await service.call('PUT', '/api/finishes/LINEN', finish);
  const small = await read('/api/finishes/LINEN/swatch.json?kind=panel&size=256');
  // at least two repeats of 80 mm in a round figure; 6 % of the picture is left free on both sides
  expect(small.scale.widthMm).toBe(200);
  expect(small.scale.pxPerMm).toBeCloseTo((256 - 2 * 15) / 200, 9);
  expect(small.findings).toMatchObject([{ code: 'moire', where: 'panel', expected: { pxPerMm: 2 } }]);
  const near = await read('/api/finishes/LINEN/swatch.json?kind=panel&size=256&widthMm=50');
  expect(near).toMatchObject({ scale: { widthMm: 50 }, findings: [] });
  expect(near.picture).toMatch(/widthMm=50/);
  expect(await read('/api/finishes/LINEN/swatch.json?kind=chip')).toMatchObject({ scale: null, findings: [] });
});

it('flat light is said to be flat, and measures what is delivered; folds are measured by their mean', async () => {
  const flat = await read('/api/finishes/TARN/swatch.json?kind=cutting&size=64&light=flat');
  expect(flat).toMatchObject({ light: 'flat', measured: { where: 'flat', hex: '#2f5d73' }, deltaE: 0 });
  const lit = await read('/api/finishes/TARN/swatch.json?kind=cutting&size=64');
  expect(lit).toMatchObject({ light: 'studio', measured: { where: 'mean' } });
  expect(lit.notes.join(' ')).toMatch(/folds/);
  expect(await read('/api/finishes/TARN/swatch.json?kind=chip')).toMatchObject({ light: 'flat' });
});

it('glass is measured as it looks on white', async () => {
  await service.call('PUT', '/api/finishes/PANE', {
    name: 'Pane',
    family: 'glass',
    transmission: 1,
    colour: { hex: '#ffffff' },
  });
  const pane = await read('/api/finishes/PANE/swatch.json?kind=panel&size=64');
  expect(pane.measured.lab[0]).toBeGreaterThan(90);
  expect(pane.notes.join(' ')).toMatch(/on white/);
});

it('only a panel has a width', async () => {
  const answer = await service.call('GET', '/api/finishes/TARN/swatch.json?kind=sphere&widthMm=100');
  expect([answer.status, answer.body.code]).toEqual([400, 'swatch-kind']);
});

async function addGreyMap(): Promise<string> {
  const image = sharp({ create: { width: 8, height: 8, channels: 3, background: '#d0d0d0' } });
  const bytes = await image.png().toBuffer();
  return (await service.call('POST', '/api/files', bytes, { 'content-type': 'image/png' })).body.sha256;
}
