import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { deliverCommand } from '../../../server/commands/deliver.ts';
import { swatchesCommand } from '../../../server/commands/pictures.ts';
import { repairCommand } from '../../../server/commands/repair.ts';
import { surveyCommand } from '../../../server/commands/survey.ts';
import type { Surroundings } from '../../../server/commands/workshop.ts';
import { ConfigError } from '../../../server/config.ts';
import { makeGlb, readGlb, sha256, variantNames } from '../../support/glb.ts';
import { readRegistryModel } from '../../support/registry-models.ts';

// Exit status by the contract: 0 when done, 1 when findings block, 2 when the call is wrong (thrown as ConfigError here).
// Model: registry package @webxr-input-profiles/assets 1.0.20 (MIT).

const MODEL = readRegistryModel('oculus-go/none.glb');

const HERE: Surroundings = { env: {}, signal: new AbortController().signal, report: console.error };

let folder: string;
let path: (name: string) => string;
const printed: string[] = [];
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-commands-'));
  path = (name) => join(folder, name);
  vi.spyOn(console, 'log').mockImplementation((line: string) => void printed.push(line));
  await writeFile(path('model.glb'), MODEL);
  // a model that draws nothing has no slot for a finish
  await writeFile(path('empty.glb'), makeGlb({ asset: { version: '2.0' }, scenes: [{}], scene: 0 }));
  await writeFile(
    path('finishes.json'),
    JSON.stringify({ finishes: { TARN: { name: 'Tarn', family: 'paint', colour: { hex: '#2f5d73' } } } }),
  );
});
afterEach(() => {
  printed.length = 0;
});
afterAll(async () => {
  vi.restoreAllMocks();
  await rm(folder, { recursive: true });
});

async function listSlots(): Promise<string[]> {
  await surveyCommand([path('model.glb'), '--json']);
  return JSON.parse(printed.pop()!).slots.map(({ slot }: { slot: string }) => slot);
}

describe('dyeworks survey', () => {
  it('prints measures, slots and findings, and leaves the file as it is', async () => {
    expect(await surveyCommand([path('model.glb')])).toBe(0);
    expect(printed[0]).toMatch(/^Size {7}[\d.]+ × [\d.]+ × [\d.]+ mm/);
    expect(printed[0]).toMatch(/^Verdict {4}(ready|attention)$/m);
    expect(sha256(await readFile(path('model.glb')))).toBe(sha256(MODEL));
  });

  it('is 1 for a model that cannot take finishes', async () => {
    expect(await surveyCommand([path('empty.glb')])).toBe(1);
    expect(printed[0]).toMatch(/^Size {7}no geometry$/m);
  });

  it.each([
    [[], /needs a model, but the call names no file/],
    [['a.glb', 'b.glb'], /names 2 files/],
    [['model.txt'], /not a \.glb, \.gltf or \.zip file/],
    [['none.glb'], /cannot read none\.glb/],
    [['model.glb', '--wrong'], /--wrong.*dyeworks --help/],
    [['model.glb', '--size', '3'], /--size takes width × depth × height in mm/],
    [['model.glb', '--class', 'boat'], /--class takes .*not “boat”/],
  ])('refuses the call %j', async (args, message) => {
    await expect(surveyCommand(args)).rejects.toThrow(ConfigError);
    await expect(surveyCommand(args)).rejects.toThrow(message);
  });
});

describe('dyeworks repair', () => {
  it('writes the repaired model, or prints what it proposes', async () => {
    expect(await repairCommand([path('model.glb'), '--list', '--class', 'dining-chair'])).toBe(0);
    const proposals = JSON.parse(printed.pop()!);
    expect(Array.isArray(proposals)).toBe(true);
    await writeFile(path('steps.json'), JSON.stringify([{ repair: 'scale', factor: 2 }]));
    const args = [path('model.glb'), '--repairs', path('steps.json'), '-o', path('repaired.glb')];
    expect(await repairCommand(args)).toBe(0);
    expect(printed.some((line) => /^ {2}done +scale: /.test(line))).toBe(true);
    expect(readGlb(await readFile(path('repaired.glb'))).json.asset).toBeDefined();
  });

  it('refuses a call without repairs, without an output, and with a file that is no list', async () => {
    await expect(repairCommand([path('model.glb'), '-o', path('x.glb')])).rejects.toThrow(/names no repairs/);
    await expect(repairCommand([path('model.glb'), '--proposals'])).rejects.toThrow(/--output \(-o\) is missing/);
    await writeFile(path('bad.json'), '[');
    const args = [path('model.glb'), '--repairs', path('bad.json'), '-o', path('x.glb')];
    await expect(repairCommand(args)).rejects.toThrow(/bad\.json is not valid JSON/);
    expect((await readdir(folder)).filter((name) => /^x\.glb/.test(name))).toEqual([]);
  });
});

describe('dyeworks deliver', () => {
  it('writes one file with every variant', async () => {
    const slots = await listSlots();
    await writeFile(
      path('schedule.csv'),
      `code,name,${slots.join(',')}\nV1,First,${slots.map(() => 'TARN').join(',')}\n`,
    );
    const args = ['--finishes', path('finishes.json'), '--schedule', path('schedule.csv'), '-o', path('out.glb')];
    expect(await deliverCommand([path('model.glb'), ...args], HERE)).toBe(0);
    expect(variantNames(readGlb(await readFile(path('out.glb'))))).toEqual(['First']);
    expect(printed.at(-1)).toMatch(/out\.glb: 1 variants?, \d+ bytes, sha256 [0-9a-f]{64}$/);
    expect((await readdir(folder)).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it('refuses a schedule of another form, and an option that is missing', async () => {
    await writeFile(path('bad.csv'), 'name,code\nA,B\n');
    const args = ['--finishes', path('finishes.json'), '--schedule', path('bad.csv')];
    await expect(deliverCommand([path('model.glb'), ...args, '-o', path('x.glb')], HERE)).rejects.toThrow(
      /must begin with/,
    );
    await expect(deliverCommand([path('model.glb'), ...args], HERE)).rejects.toThrow(/--output \(-o\) is missing/);
  });
});

describe('dyeworks swatches', () => {
  it('makes a chip of every finish', async () => {
    const args = [path('finishes.json'), '-o', path('swatches'), '--kind', 'chip', '--size', '32'];
    expect(await swatchesCommand(args, HERE)).toBe(0);
    expect(await readdir(path('swatches'))).toEqual(['TARN.png']);
    expect(printed).toEqual([`1 swatch in ${path('swatches')}`]);
  });

  it('refuses a size that is out of range', async () => {
    const args = [path('finishes.json'), '-o', path('x'), '--size', '1'];
    await expect(swatchesCommand(args, HERE)).rejects.toThrow(/whole number of pixels from 32 to/);
  });
});
