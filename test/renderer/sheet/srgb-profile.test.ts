import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeSrgbProfile } from '../../../renderer/sheet/srgb-profile.ts';

// Compared with Little CMS as part of libvips (sharp). sRGB data must not change on the way into or out of an sRGB
// profile.

const KINDS = ['display', 'output'] as const;

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-profile-'));
  for (const kind of KINDS) await writeFile(join(folder, `${kind}.icc`), makeSrgbProfile(kind));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

/** All greys, and a grid over the cube. */
const codes = [
  ...Array.from({ length: 256 }, (_, v) => [v, v, v]),
  ...Array.from({ length: 512 }, (_, i) => [i >> 6, (i >> 3) & 7, i & 7].map((v) => Math.round((v * 255) / 7))),
].flat();
const pixels = Buffer.from(codes);
const raw = { width: codes.length / 3, height: 1, channels: 3 } as const;

const worst = (a: Buffer) => Math.max(...a.map((value, i) => Math.abs(value - pixels[i]!)));

describe.each(KINDS)('the %s profile', (kind) => {
  it('converts codes to XYZ and XYZ to codes like sRGB, within one level', async () => {
    const tagged = await sharp(pixels, { raw })
      .withIccProfile(join(folder, `${kind}.icc`))
      .png()
      .toBuffer();
    // The stored values: sRGB to the profile.
    expect(worst(await sharp(tagged, { ignoreIcc: true }).raw().toBuffer())).toBeLessThanOrEqual(1);
    // The values read through it: the profile to sRGB.
    const read = await sharp(tagged).toColourspace('srgb').raw().toBuffer();
    expect(worst(read)).toBeLessThanOrEqual(1);
  });

  it('has the size, class and tags that its kind requires (ICC.1:2001-04 §6.1, §6.3)', () => {
    const profile = makeSrgbProfile(kind);
    expect(profile.readUInt32BE(0)).toBe(profile.length);
    expect(profile.toString('latin1', 12, 24)).toBe(`${kind === 'display' ? 'mntr' : 'prtr'}RGB XYZ `);
    expect(profile.toString('latin1', 36, 40)).toBe('acsp');
    const count = profile.readUInt32BE(128);
    const tags = Array.from({ length: count }, (_, i) => profile.toString('latin1', 132 + 12 * i, 136 + 12 * i));
    const asked =
      kind === 'display'
        ? ['rXYZ', 'gXYZ', 'bXYZ', 'rTRC', 'gTRC', 'bTRC']
        : ['A2B0', 'A2B1', 'A2B2', 'B2A0', 'B2A1', 'B2A2', 'gamt'];
    expect([...tags].sort()).toEqual(['cprt', 'desc', 'wtpt', ...asked].sort());
  });
});

it('has the colorants of IEC 61966-2-1 under D50, by Bradford, like other sRGB profiles', () => {
  const profile = makeSrgbProfile('display');
  const read = (tag: string) => {
    const at = profile.readUInt32BE(profile.indexOf(tag, 128, 'latin1') + 4);
    return [8, 12, 16].map((offset) => profile.readInt32BE(at + offset) / 65536);
  };
  // The figures of sRGB2014.icc, the ICC's own profile, to four digits.
  const colorants = { rXYZ: [0.4361, 0.2225, 0.0139], gXYZ: [0.3851, 0.7169, 0.0971], bXYZ: [0.1431, 0.0606, 0.7141] };
  for (const [tag, xyz] of Object.entries(colorants)) {
    read(tag).forEach((value, i) => {
      expect(Math.abs(value - xyz[i]!), tag).toBeLessThan(2e-4);
    });
  }
  // White is the white of the connection space.
  [0.9642, 1, 0.8249].forEach((value, i) => {
    const sum = ['rXYZ', 'gXYZ', 'bXYZ'].reduce((total, tag) => total + read(tag)[i]!, 0);
    expect(Math.abs(sum - value)).toBeLessThan(5e-5);
  });
});
