import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { deltaE2000 } from '../../../server/core/colour/lab.ts';
import { startService, type TestService } from '../../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService();
  const put = (code: string, colour: object) =>
    service.call('PUT', `/api/finishes/${code}`, { name: code, family: 'paint', colour });
  await put('TARN', { hex: '#2f5d73' });
  await put('TEN', { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '10deg' });
  await put('NEON', { lab: [60, 110, -60], illuminant: 'D65', observer: '2deg' });
});
afterAll(() => service.close());

const read = async (path: string) => (await service.call('GET', path)).body;

it('a chip is measured to be exactly its hex, and says how far that is from what was specified', async () => {
  const chip = await read('/api/finishes/tarn/swatch.json?kind=chip&size=64');
  expect(chip).toMatchObject({ finish: 'TARN', revision: 1, kind: 'chip', sizePx: 64 });
  expect(chip.measured).toMatchObject({ where: 'flat', hex: '#2f5d73' });
  expect(chip.deltaE).toBeCloseTo(0, 6);
  expect(chip.tolerance).toMatchObject({ formula: 'ab', limit: 2, within: true });
  expect(chip.caution).toMatch(/physical sample/);
});

it('says why it differs: estimates, what sRGB has not, the light', async () => {
  const ten = await read('/api/finishes/TEN/swatch.json?kind=chip');
  expect(ten.notes.join(' ')).toMatch(/10° observer/);
  const neon = await read('/api/finishes/NEON/swatch.json?kind=chip');
  expect(neon.notes.join(' ')).toMatch(/sRGB has no such colour/);
  expect(neon.deltaE).toBeGreaterThan(2);
  expect(neon.tolerance.within).toBe(false);
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
  expect(sphere.deltaE).toBeCloseTo(deltaE2000(sphere.specified.lab, sphere.measured.lab), 6);
  expect(sphere.notes.join(' ')).toMatch(/light of the studio/);
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
