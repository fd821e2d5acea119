import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { createFiles } from '../../../db/create-files.ts';
import { createPictureStore } from '../../../db/create-picture-store.ts';
import { openDatabase } from '../../../db/open-database.ts';
import type { Context } from '../../../server/actions/context.ts';
import { measurePattern } from '../../../server/actions/measure-pattern.ts';
import { deltaE2000, linearToLab } from '../../../server/core/colour/lab.ts';
import { linearToHex } from '../../../server/core/colour/srgb.ts';
import { measureMap } from '../../../server/gltf/measure-map.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'dyeworks-pattern-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const GREY = 0.25;
const finish = { baseColour: [GREY, GREY, GREY], specifiedLab: linearToLab([GREY, GREY, GREY]) } as const;

it('is the colour times the mean of its map in linear light, measured once', async () => {
  const files = createFiles(join(folder, 'files'));
  const pictures = createPictureStore(openDatabase(':memory:'), join(folder, 'pictures'), 1_000_000);
  let measured = 0;
  const imaging = {
    measureMap(bytes: Uint8Array) {
      measured++;
      return measureMap(bytes);
    },
  } as Context['imaging'];
  const context = { files, pictures, imaging };
  // half black, half white: one half in linear light, where the mean of the codes would be a fifth (IEC 61966-2-1)
  const data = new Uint8Array(4 * 4 * 3).map((_, i) => (Math.floor(i / 3) % 2 === 0 ? 0 : 255));
  const map = await sharp(data, { raw: { width: 4, height: 4, channels: 3 } })
    .png()
    .toBuffer();
  const { sha256: colour } = await files.putBytes(map);

  const expected = [GREY / 2, GREY / 2, GREY / 2] as const;
  const mean = await measurePattern(context, { ...finish, maps: { colour } });
  expect(mean!.hex).toBe(linearToHex(expected));
  expect(mean!.deltaE).toBeCloseTo(deltaE2000(finish.specifiedLab, linearToLab(expected)), 4);
  expect(await measurePattern(context, { ...finish, maps: { colour } })).toEqual(mean);
  expect(measured).toBe(1);

  const plain = await measurePattern(context, { ...finish, maps: {} });
  expect(plain!.hex).toBe(linearToHex(finish.baseColour));
  expect(plain!.deltaE).toBeCloseTo(0, 9);
});
