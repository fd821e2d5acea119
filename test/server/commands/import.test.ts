import { spawnSync } from 'node:child_process';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { loadFinishes } from '../../../server/actions/load-finishes.ts';
import { importCommand } from '../../../server/commands/import.ts';
import { storeFinishes } from '../../../server/commands/read-finishes.ts';
import { withWorkshop } from '../../../server/commands/workshop.ts';
import { ConfigError } from '../../../server/config.ts';
import { writeExampleCsv } from '../../../server/core/import/read-import-csv.ts';
import { ROOT } from '../../../server/root.ts';
import { expectRefusal } from '../../support/refusal.ts';

const CGATS = `CGATS.17
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B
END_DATA_FORMAT
BEGIN_DATA
M-1 "Tarn blue" 38.1 -8.2 -15.4
M-2 Parrot 60 -80 50
END_DATA
`;
const VIEWING = ['--illuminant', 'D65', '--observer', '2deg', '--family', 'paint'];

let folder: string;
const said: string[] = [];
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'dyeworks-command-'));
  vi.spyOn(console, 'log').mockImplementation((line: string) => void said.push(line));
});
afterEach(() => {
  said.length = 0;
});
afterAll(async () => {
  vi.restoreAllMocks();
  await rm(folder, { recursive: true });
});

async function put(name: string, text: string): Promise<string> {
  const path = join(folder, name);
  await writeFile(path, text);
  return path;
}
const out = (name: string) => join(folder, name);

/** The finishes of a file, as other commands take them. */
const store = (path: string) =>
  withWorkshop({}, async (context) => {
    await storeFinishes(context, path);
    const { finishes, resolve } = await loadFinishes(context);
    return { finishes, hexes: finishes.map(({ finish }) => resolve(finish).hex) };
  });

describe('dyeworks import', () => {
  it('writes the file of finishes that other commands read', async () => {
    const path = out('finishes.json');
    expect(await importCommand([await put('m.txt', CGATS), ...VIEWING, '-o', path])).toBe(0);
    const { finishes, hexes } = await store(path);
    expect(finishes).toEqual([
      expect.objectContaining({
        finish: 'M-1',
        name: 'Tarn blue',
        family: 'paint',
        colour: { lab: [38.1, -8.2, -15.4], illuminant: 'D65', observer: '2deg' },
      }),
      expect.objectContaining({ finish: 'M-2' }),
    ]);
    expect(said).toEqual([
      `  new      line 6  M-1  Tarn blue  ${hexes[0]}`,
      expect.stringMatching(/^ {2}new {6}line 7 {2}M-2 {2}Parrot {2}#[0-9a-f]{6} {2}out-of-gamut \(ΔE00 \d\.\d\)$/),
      `2 finishes in ${path}`,
    ]);
    expect((await readdir(folder)).filter((name) => name.endsWith('.part'))).toEqual([]);
  });

  it('takes spectra, hex and Lab of one file', async () => {
    const path = out('example.json');
    expect(await importCommand([await put('example.csv', writeExampleCsv()), '-o', path])).toBe(0);
    expect((await store(path)).finishes).toHaveLength(3);
    expect(said[1]).toMatch(/colour-estimated \(ΔE00 \d/);
  });

  it('makes the articles that are named, each once and of one family', async () => {
    const csv =
      'code,name,family,article,hex\nA,One,textile,Moss,#2f5d73\nB,Two,textile,moss,#2f5d74\nC,Three,,,#2f5d75\n';
    const path = out('articles.json');
    const args = [await put('a.csv', csv), '--article', 'CORD', '--family', 'leather', '-o', path];
    expect(await importCommand(args)).toBe(0);
    expect(JSON.parse(await readFile(path, 'utf8')).articles).toEqual({
      Moss: { name: 'Moss', family: 'textile' },
      CORD: { name: 'CORD', family: 'leather' },
    });
    expect((await store(path)).finishes.map(({ article }) => article)).toEqual(['Moss', 'Moss', 'CORD']);
    const unknown = await put('u.csv', 'code,name,article,hex\nA,One,Moss,#2f5d73\nB,Two,no code,#2f5d73\n');
    expect(await importCommand([unknown, '--dry-run'])).toBe(1);
    expect(said.filter((line) => line.includes('unknown-article: The article cannot be made'))).toHaveLength(2);
  });

  it('writes nothing when a line is refused, unless asked to leave it out', async () => {
    const file = await put('slip.txt', CGATS.replace('60 -80 50', '160 -80 50'));
    const path = out('slip.json');
    expect(await importCommand([file, ...VIEWING, '-o', path])).toBe(1);
    expect(said[1]).toMatch(/^ {2}refused {2}line 7 {2}M-2 {2}colour-incomplete: L\* is 160/);
    expect(said.at(-1)).toMatch(/1 line refused.*--partial/);
    expect(await readdir(folder)).not.toContain('slip.json');
    expect(await importCommand([file, ...VIEWING, '--partial', '-o', path])).toBe(0);
    expect((await store(path)).finishes.map(({ finish }) => finish)).toEqual(['M-1']);
    expect(await importCommand([file, '--partial', '-o', path])).toBe(1);
  });

  it('writes nothing in a dry run', async () => {
    expect(await importCommand([await put('m.txt', CGATS), ...VIEWING, '--dry-run', '-o', out('dry.json')])).toBe(0);
    expect(said.at(-1)).toBe('A file of 2 finishes would be written.');
    expect(await readdir(folder)).not.toContain('dry.json');
  });

  it.each([
    [['--illuminant', 'E', '--dry-run'], /--illuminant takes D50, D65, not “E”/],
    [['--family', 'velvet', '--dry-run'], /--family takes/],
    [[], /--output \(-o\) is missing/],
  ])('refuses the call %j', async (args, message) => {
    const file = await put('m.txt', CGATS);
    await expect(importCommand([file, ...args])).rejects.toThrow(ConfigError);
    await expect(importCommand([file, ...args])).rejects.toThrow(message);
  });

  it('refuses a file it cannot read, and an article with no code', async () => {
    const file = await put('bad.csv', 'code,price\nA,1\n');
    await expectRefusal(() => importCommand([file, '--dry-run']), 'import-unreadable');
    const args = ['--article', 'no code', '--family', 'textile', '--dry-run'];
    await expectRefusal(async () => importCommand([await put('m.txt', CGATS), ...args]), 'invalid-code');
  });

  it('is a command with the exit statuses of the others', async () => {
    const file = await put('m.txt', CGATS);
    const run = (...args: string[]) =>
      spawnSync(process.execPath, ['server/dyeworks.mjs', 'import', ...args], { cwd: ROOT, encoding: 'utf8' });
    expect(run(file, ...VIEWING, '--dry-run').status).toBe(0);
    expect(run(file, '--dry-run').status).toBe(1);
    expect(run(file, '--wrong').status).toBe(2);
    const missing = run(join(folder, 'none.txt'), '--dry-run');
    expect(missing.status).toBe(2);
    expect(missing.stderr).toMatch(/none\.txt/);
  });
});
