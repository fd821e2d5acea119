import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { PackageTooLarge, PackageWriter } from '../../../server/usd/write-package.ts';
import { readPackage } from '../../support/read-usd.ts';

// OpenUSD, "Usdz file format specification": no compression, data at multiples of 64 bytes, no Zip64.

const folder = mkdtempSync(join(tmpdir(), 'dyeworks-package-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it('aligns the data of files whose names have any length', () => {
  const path = join(folder, 'names.usdz');
  const writer = new PackageWriter(path);
  const names = Array.from({ length: 70 }, (_, i) => `${'n'.repeat(i + 1)}.png`);
  for (const [i, name] of names.entries()) writer.add(name, [new Uint8Array(i), 'text']);
  const { bytes } = writer.finish();
  const file = readFileSync(path);
  expect(bytes).toBe(file.length);
  const read = readPackage(file);
  expect(read.map(({ name }) => name)).toEqual(names);
  for (const [i, { start, bytes: data }] of read.entries()) expect([start % 64, data.length]).toEqual([0, i + 4]);
});

it('refuses to grow beyond its limit', () => {
  const writer = new PackageWriter(join(folder, 'large.usdz'), 200);
  writer.add('a.usda', ['#usda 1.0\n']);
  expect(() => writer.add('b.png', [new Uint8Array(200)])).toThrow(PackageTooLarge);
  writer.abandon();
});
