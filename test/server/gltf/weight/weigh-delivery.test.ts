import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import { weighDelivery } from '../../../../server/core/delivery/weigh-delivery.ts';
import { readDeliveredBytes } from '../../../../server/gltf/weight/read-delivered-bytes.ts';
import { makeFinish } from '../../../support/make-finish.ts';
import { createSplicer, type Spliced } from '../../../support/splice.ts';
import { makePanels } from '../../../support/textured-panels.ts';

const splicer = createSplicer();
const folder = await mkdtemp(join(tmpdir(), 'dyeworks-weigh-'));
afterAll(async () => {
  await splicer.close();
  await rm(folder, { recursive: true, force: true });
});

/** Noise, which no format makes small. */
async function makeNoise(seed: number, px = 64) {
  let state = seed;
  const data = Buffer.from(
    Array.from({ length: px * px * 3 }, () => (state = (state * 1103515245 + 12345) & 0x7fffffff) >> 16),
  );
  return sharp(data, { raw: { width: px, height: px, channels: 3 } })
    .png()
    .toBuffer();
}

const [RED, GREEN, ROUGH, PART] = await Promise.all([1, 2, 3, 4].map((seed) => makeNoise(seed)));
const file = (bytes: Buffer) => ({ bytes, mimeType: 'image/png' });
const maps = { red: file(RED!), green: file(GREEN!), rough: file(ROUGH!) };
const tile = { widthMm: 100, heightMm: 100 };
const finishes = [
  makeFinish('WOOL-1', { family: 'textile', maps: { colour: 'red', roughness: 'rough' }, tile, colourFrom: 'map' }),
  makeFinish('WOOL-2', { family: 'textile', maps: { colour: 'green', roughness: 'rough' }, tile, colourFrom: 'map' }),
  makeFinish('PLAIN'),
];
const articleOf = (finish: string) => (finish.startsWith('WOOL') ? 'WOOL' : null);
const model = makePanels([
  { bytes: PART!, type: 'image/png' },
  { bytes: PART!, type: 'image/png' },
]);

async function deliver(names: readonly string[]) {
  const slots = (await splicer.splice(model, { finishes: [makeFinish('RED'), makeFinish('BLUE')] })).slots;
  // the second part keeps its own material
  const rows = names.map((name) => ({ [slots[0]!.slot]: name }));
  const spliced = await splicer.splice(model, { finishes, rows, maps });
  return { spliced, weight: await weigh(spliced, rows, names) };
}

async function weigh(
  { file, slots }: Spliced,
  rows: readonly Readonly<Record<string, string>>[],
  names: readonly string[],
) {
  const path = join(folder, `${names.join('-')}.glb`);
  await writeFile(path, file);
  const variants = rows.map((choices, i) => ({ code: `V${i}`, name: `Variant number ${i}`, choices }));
  const listed = names.map((finish) => ({ finish, name: finish }));
  const manifest = { variants, finishes: listed, slots } as unknown as Parameters<typeof weighDelivery>[1];
  return weighDelivery(await readDeliveredBytes(path), manifest, articleOf);
}

const sum = (numbers: readonly number[]) => numbers.reduce((all, one) => all + one, 0);

describe('the weight of a delivery', () => {
  it('sums up to the bytes of the file, group by group', async () => {
    const { spliced, weight } = await deliver(['WOOL-1', 'WOOL-2', 'PLAIN']);
    expect(weight.bytes).toBe(spliced.file.length);
    expect(sum(Object.values(weight.groups))).toBe(spliced.file.length);
    expect(sum(weight.geometry.map(({ bytes }) => bytes))).toBe(weight.groups.geometry);
    expect(sum(weight.articles.map(({ bytes }) => bytes)) + weight.sharedByArticles).toBe(weight.groups.finishes);
    expect(sum(weight.finishes.map(({ adds }) => adds)) + sum(weight.articles.map(({ shared }) => shared))).toBe(
      weight.groups.finishes - weight.sharedByArticles,
    );
    // positions, normals and UVs of four corners, and six indices
    expect(Object.fromEntries(weight.geometry.map(({ use, bytes }) => [use, bytes]))).toEqual({
      POSITION: 48,
      NORMAL: 48,
      TEXCOORD_0: 32,
      indices: 12,
    });
    expect(weight.partTextures.map(({ widthPx, uses }) => [widthPx, uses])).toContainEqual([64, ['normalTexture']]);
    const wool = weight.articles.find(({ article }) => article === 'WOOL')!;
    expect(wool.finishes).toBe(2);
    expect(wool.shared).toBeGreaterThan(ROUGH!.length);
    expect(weight.finishes.map(({ finish, shared }) => [finish, shared > 0])).toContainEqual(['PLAIN', false]);
  });

  it('states what a finish adds: that much goes with it', async () => {
    const whole = await deliver(['WOOL-1', 'WOOL-2', 'PLAIN']);
    const without = await deliver(['WOOL-1', 'PLAIN']);
    const { adds } = whole.weight.finishes.find(({ finish }) => finish === 'WOOL-2')!;
    const gone = whole.spliced.file.length - without.spliced.file.length;
    // its variant goes too, with a name of some letters in the JSON, and the chunks are padded
    expect(Math.abs(gone - adds)).toBeLessThan(200);
    expect(adds).toBeGreaterThan(GREEN!.length);
  });
});
