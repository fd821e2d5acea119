import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { converter } from 'culori';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { makeMapReader } from '../../../server/actions/finish-maps.ts';
import { loadFinishes } from '../../../server/actions/load-finishes.ts';
import { storeFinishes } from '../../../server/commands/read-finishes.ts';
import { withWorkshop } from '../../../server/commands/workshop.ts';
import { ConfigError } from '../../../server/config.ts';
import { DISPLAY_P3, makeRgbProfile } from '../../support/icc.ts';
import { writePng } from '../../support/write-png.ts';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-finishes-'));
});
afterAll(() => rm(folder, { recursive: true }));

/** Stores a finish with these maps, and reads them as a delivery does. */
async function read(maps: Readonly<Record<string, string>>) {
  const path = join(folder, 'finishes.json');
  const finish = { name: 'Twill', family: 'textile', colour: { hex: '#2f5d73' }, maps };
  await writeFile(path, JSON.stringify({ finishes: { TWILL: finish } }));
  return withWorkshop({}, async (context) => {
    await storeFinishes(context, path);
    const { maps } = (await loadFinishes(context)).resolve('TWILL');
    const readMap = makeMapReader(context);
    return Promise.all(Object.values(maps).map((sha256) => readMap(sha256)));
  });
}

it('converts a colour map that is in another space than sRGB, and leaves data maps as they are', async () => {
  const codes = [120, 100, 80];
  const p3 = writePng({ type: 'rgb', bits: 8, widthPx: 1, codes, icc: makeRgbProfile(DISPLAY_P3) });
  await writeFile(join(folder, 'p3.png'), p3);
  const [colour, roughness] = await read({ colour: 'p3.png', roughness: 'p3.png' });
  expect(colour!.mimeType).toBe('image/png');
  // culori 4
  const { r, g, b } = converter('rgb')({ mode: 'p3', r: 120 / 255, g: 100 / 255, b: 80 / 255 });
  expect([...(await sharp(colour!.bytes).raw().toBuffer())]).toEqual(
    [r, g, b].map((value) => Math.round(value! * 255)),
  );
  expect(Buffer.from(roughness!.bytes).equals(p3)).toBe(true);
});

it('refuses CMYK and what is damaged, and says which map it is', async () => {
  const cmyk = sharp({ create: { width: 8, height: 8, channels: 3, background: '#5ac53a' } }).toColourspace('cmyk');
  const jpeg = await cmyk.jpeg().toBuffer();
  await writeFile(join(folder, 'print.jpg'), jpeg);
  const refused = read({ normal: 'print.jpg' });
  await expect(refused).rejects.toThrow(ConfigError);
  await expect(refused).rejects.toThrow(/maps\/normal names “print\.jpg”.*CMYK/);
  await writeFile(join(folder, 'cut.jpg'), jpeg.subarray(0, 20));
  await expect(read({ colour: 'cut.jpg' })).rejects.toThrow(/maps\/colour names “cut\.jpg”.*damaged/);
});
